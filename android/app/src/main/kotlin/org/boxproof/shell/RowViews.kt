package org.boxproof.shell

import android.content.Context
import android.os.Build
import android.text.SpannableStringBuilder
import android.text.style.AbsoluteSizeSpan
import android.text.style.TypefaceSpan
import android.view.Gravity
import android.view.View
import android.widget.HorizontalScrollView
import android.widget.LinearLayout
import android.widget.TableLayout
import android.widget.TableRow
import android.widget.TextView
import org.boxproof.core.Body
import org.boxproof.core.Edge
import org.boxproof.core.Pick
import org.boxproof.core.Row

/** One view for each of the thirteen kinds of row; the compiler names a kind that is missing. */
internal class RowViews(private val context: Context, private val look: Look, private val hands: Hands) {
    private val gap = look.px(R.dimen.space_row_gap)

    fun view(row: Row): View = when (val body = row.body) {
        is Body.Headline -> headline(row, body)
        is Body.Sentence -> whole(row, look.words(body.text, R.dimen.type_body)).apply { pad(look.dp(8)) }
        is Body.Notice -> notice(row, body)
        is Body.Item -> whole(row, item(row, body))
        is Body.Blank -> blank(row, body)
        is Body.Choice -> holding(row, body.label.takeIf(String::isNotEmpty)?.let { small(it) }, picks(body.options))
        is Body.Figure -> whole(row, figure(row, body))
        is Body.Trial -> trial(row, body)
        is Body.Strands -> whole(row, strands(body))
        is Body.Drawing -> drawing(row, body)
        is Body.Grid -> grid(row, body)
        is Body.Step -> whole(row, step(body))
        is Body.Deeds -> deeds(body)
    }

    /** A row that is pressed as a whole, or one that is only read. */
    private fun whole(row: Row, inside: View) = RowFrame(context, look, row).apply {
        minimumHeight = if (row.body is Body.Sentence) 0 else look.px(R.dimen.touch_row)
        gravity = Gravity.CENTER_VERTICAL
        addView(inside, LinearLayout.LayoutParams(MATCH, WRAP))
        row.go?.let { go -> leadsOn { hands.press(go) } }
        speaks(row.spoken)
    }

    /** A row with something to press inside it: its `go`, if it has one, is a part of its own over the rest. */
    private fun holding(row: Row, first: View?, vararg rest: View) = RowFrame(context, look, row).apply {
        pad(look.dp(8), if (row.edge == null) look.dp(12) else look.px(R.dimen.space_row_text_x), look.dp(12))
        val go = row.go
        if (first != null && go != null) {
            addView(RowFrame(context, look, null, ruled = false).apply {
                addView(first, LinearLayout.LayoutParams(MATCH, WRAP))
                gravity = Gravity.CENTER_VERTICAL
                leadsOn { hands.press(go) }
                speaks(row.spoken)
            }, LinearLayout.LayoutParams(MATCH, WRAP))
        } else if (first != null) addView(first, LinearLayout.LayoutParams(MATCH, WRAP))
        for (view in rest) addView(view, LinearLayout.LayoutParams(MATCH, WRAP).apply { topMargin = look.px(R.dimen.space_target_gap) })
    }

    private fun small(words: String, colour: Int = R.color.soft, weight: Int = 400) = look.words(words, R.dimen.type_second, colour, weight)

    private fun stack(vararg views: View?, wide: Int = MATCH) = LinearLayout(context).apply {
        orientation = LinearLayout.VERTICAL
        views.filterNotNull().forEach { addView(it, LinearLayout.LayoutParams(wide, WRAP).apply { gravity = Gravity.END }) }
    }

    private fun middle(title: String, second: String, below: View? = null) = stack(
        title.takeIf(String::isNotEmpty)?.let { look.words(it, R.dimen.type_row, weight = 600) },
        second.takeIf(String::isNotEmpty)?.let { small(it) },
        below,
    )

    /** A tag or a label as it is written in the building; dashed where it is only intended. */
    fun tape(words: String, size: Int = R.dimen.type_tag, edge: Edge? = null) =
        look.words(words, size, if (edge == Edge.UNKNOWN) R.color.ink else R.color.picture_ink, 800).apply {
            background = when (edge) {
                Edge.UNKNOWN -> look.frame(R.color.ink, 2.4f, dash = true)
                else -> look.frame(R.color.picture_ink, 1.6f, R.color.tape, dash = edge == Edge.PLANNED)
            }
            minWidth = if (size == R.dimen.type_tag) look.dp(46) else 0
            gravity = Gravity.CENTER
            textAlignment = View.TEXT_ALIGNMENT_GRAVITY
            setPadding(look.dp(7), look.dp(4), look.dp(7), look.dp(4))
        }

    private fun value(words: CharSequence, size: Int = R.dimen.type_row) = look.words(words, size, weight = 700).apply {
        textAlignment = View.TEXT_ALIGNMENT_VIEW_END
    }

    private fun headline(row: Row, body: Body.Headline) = RowFrame(context, look, row, ruled = false).apply {
        pad(0)
        val heading = small(body.text, R.color.ink, 700).apply { if (Build.VERSION.SDK_INT >= 28) isAccessibilityHeading = true }
        val over = body.right.size > 1
        val line = Flow(context, if (over) look.dp(6) else gap).put(heading, basis = look.rem(6f), grow = 1f)
        // Over trials, which lead on: their columns begin before the bar.
        if (over) setPaddingRelative(paddingStart, 0, paddingEnd + look.px(R.dimen.space_lead_on_w), 0)
        for (words in body.right) line.put(small(words).apply { if (over) textAlignment = View.TEXT_ALIGNMENT_CENTER }, if (over) look.rem(TRIAL) else 0)
        line.setPadding(0, look.dp(14), 0, look.dp(4))
        addView(line, LinearLayout.LayoutParams(MATCH, WRAP))
        addView(View(context).apply { setBackgroundColor(context.getColor(R.color.ink)) }, LinearLayout.LayoutParams(MATCH, look.px(R.dimen.line_frame)))
        row.go?.let { go -> leadsOn { hands.press(go) }; speaks(row.spoken) }
    }

    private fun notice(row: Row, body: Body.Notice): View {
        val colour = if (body.hazard) R.color.on_block else R.color.ink
        val inside = stack(
            look.words(body.title, if (body.hazard) R.dimen.type_hazard else R.dimen.type_body, colour, 700),
            body.text.takeIf(String::isNotEmpty)?.let { look.words(it, if (body.hazard) R.dimen.type_body else R.dimen.type_second, colour) },
            body.citation?.let { look.words(it, R.dimen.type_small, colour).apply { setPadding(0, look.dp(6), 0, 0) } },
        )
        val frame = whole(row, inside)
        if (body.hazard) {
            frame.hatched = true
            frame.setPaddingRelative(look.dp(36), look.dp(12), frame.paddingEnd, look.dp(12))
            frame.setBackgroundColor(context.getColor(R.color.block))
            return frame
        }
        frame.boxed = true
        frame.background = look.frame(R.color.ink, 2f)
        frame.pad(look.dp(8), if (row.edge == null) look.dp(12) else look.px(R.dimen.space_row_text_x))
        row.go?.let { go -> frame.leadsOn { hands.press(go) } }
        return RowFrame(context, look, null, ruled = false).apply {
            setPadding(look.dp(12), look.dp(8), look.dp(12), look.dp(8))
            addView(frame, LinearLayout.LayoutParams(MATCH, WRAP))
        }
    }

    private fun item(row: Row, body: Body.Item): View {
        val line = Flow(context, gap)
        body.tag?.let { line.put(tape(it, edge = row.edge)) }
        // What goes on for lines keeps the whole width, and its value stands below it.
        val long = body.tag == null && body.second.length > LONG
        line.put(middle(body.title, body.second), look.rem(if (long) 40f else if (body.tag == null) 9f else 6.5f), 1f)
        if (body.value.isNotEmpty()) line.put(value(body.value), end = true)
        row.mark?.let { line.put(Drawn(context, look, it), end = true) }
        return line
    }

    private fun blank(row: Row, body: Body.Blank): View {
        val field = Field(context, look, body.numeric, hands.choices.ownKeys)
        val label = small(body.label).apply { labelFor = field.edit.id }
        field.holds(hands.typed(row.key) ?: body.value, body.unit, "") { hands.typing(row.key, it.takeIf { text -> text != body.value }) }
        field.enters(button = true) { hands.enter(row.key, body.enter, it) }
        field.edit.tag = row.key
        return holding(row, label, field)
    }

    private fun picks(options: List<Pick>) = Flow(context, look.px(R.dimen.space_target_gap), even = true).apply {
        options.forEach { put(pick(it)) }
    }

    /** A line, and one under it that is small and not bold. */
    private fun lines(first: String, second: String) = SpannableStringBuilder(first).apply {
        if (second.isEmpty()) return@apply
        append('\n').append(second)
        setSpan(AbsoluteSizeSpan(look.px(R.dimen.type_small)), first.length, length, 0)
        if (Build.VERSION.SDK_INT >= 28) setSpan(TypefaceSpan(Look.weighted(400)), first.length, length, 0)
    }

    private fun pick(pick: Pick, deed: Boolean = false, main: Boolean = false) =
        button(look, lines(pick.text, pick.second), if (deed) R.dimen.type_row else R.dimen.type_body, main, pick.on && !deed).apply {
            if (!deed) setTextColor(context.getColor(R.color.ink))
            isSelected = pick.on && !deed
            setOnClickListener { hands.pick(pick) }
        }

    private fun figure(row: Row, body: Body.Figure): View {
        val read = SpannableStringBuilder(body.value.ifEmpty { GAP })
        if (body.unit.isNotEmpty()) read.append('\u00a0').append(body.unit)
        val right = stack(
            value(read, if (row.now) R.dimen.type_reading_now else R.dimen.type_row),
            body.computed.takeIf(String::isNotEmpty)?.let {
                look.words(it, R.dimen.type_small, R.color.soft).apply { textAlignment = View.TEXT_ALIGNMENT_VIEW_END }
            },
            wide = WRAP,
        )
        val share = body.bar?.let { Drawn(context, look, it) }
        return Flow(context, gap).put(middle(body.title, body.second, share), look.rem(9f), 1f).put(right, end = true)
    }

    private fun trial(row: Row, body: Body.Trial): View {
        val handles = Flow(context, look.dp(8))
        for (at in body.handles) {
            handles.put(Flow(context, look.dp(5)).put(Drawn(context, look, at.sketch)).put(look.words(lines(at.name, at.position), R.dimen.type_body, weight = 700)))
        }
        val differs = row.edge == Edge.DISAGREES
        fun told(words: String, under: String, colour: Int = R.color.ink) =
            look.words(lines(words, under), R.dimen.type_body, colour, 700).apply { textAlignment = View.TEXT_ALIGNMENT_CENTER }
        val seen = told(body.seen, body.verdict, if (differs) R.color.paper else R.color.ink)
        if (differs) seen.background = look.frame(R.color.ink, 0f, R.color.ink)
        val line = Flow(context, look.dp(6)).put(handles, look.rem(6f), 1f).put(told(body.computed, ""), look.rem(TRIAL)).put(seen, look.rem(TRIAL))
        return if (body.answers.isEmpty()) whole(row, line) else holding(row, line, picks(body.answers))
    }

    private fun strands(body: Body.Strands): View {
        val chips = Flow(context, look.dp(12))
        for (strand in body.strands) {
            val words = if (strand.tape) tape(strand.text, R.dimen.type_second) else look.words(strand.text, R.dimen.type_body, weight = 600)
            chips.put(Flow(context, look.dp(6)).put(Drawn(context, look, strand.sketch)).put(words).apply { minimumHeight = look.dp(30) })
        }
        return middle(body.title, body.second, chips)
    }

    private fun drawing(row: Row, body: Body.Drawing) = RowFrame(context, look, row.copy(edge = null)).apply {
        setPadding(0, 0, 0, 0)
        val picture = PictureView(context, look, body, row.spoken) { hands.press(it) }
        addView(picture, LinearLayout.LayoutParams(MATCH, WRAP))
        // A picture wider than the screen has buttons at its ends: nothing needs a swipe.
        val ends = Flow(context, look.px(R.dimen.space_target_gap), even = true).apply { setPadding(look.dp(12), look.dp(6), look.dp(12), look.dp(6)) }
        for ((words, way) in listOf(R.string.picture_left to -1, R.string.picture_right to 1)) {
            ends.put(button(look, context.getString(words), R.dimen.type_body).apply { setOnClickListener { picture.pan(way) } })
        }
        addView(ends, LinearLayout.LayoutParams(MATCH, WRAP))
        picture.wider = { wider -> ends.visibility = if (wider) View.VISIBLE else View.GONE }
        if (body.places.isNotEmpty()) places(this, body)
        row.go?.let { go -> addView(leading(row.spoken, go), LinearLayout.LayoutParams(MATCH, WRAP)) }
    }

    /** The same places as a list, for who asks for it; always with large text, for words in pictures do not grow. */
    private fun places(frame: RowFrame, body: Body.Drawing) {
        val list = stack(*body.places.map { leading(it.spoken, it.token) }.toTypedArray())
        val shown = { if (look.large || hands.choices.listed) View.VISIBLE else View.GONE }
        list.visibility = shown()
        if (!look.large) {
            val toggle = button(look, context.getString(R.string.list), R.dimen.type_body)
            toggle.setOnClickListener {
                hands.choices["list"] = if (hands.choices.listed) "no" else "yes"
                list.visibility = shown()
            }
            frame.addView(toggle, LinearLayout.LayoutParams(MATCH, WRAP).apply { setMargins(look.dp(12), look.dp(6), look.dp(12), look.dp(6)) })
        }
        frame.addView(list, LinearLayout.LayoutParams(MATCH, WRAP))
    }

    private fun leading(words: String, go: String) =
        whole(Row("", null, false, words, null, go, Body.Sentence(words)), look.words(words, R.dimen.type_body, weight = 500))

    private fun grid(row: Row, body: Body.Grid) = RowFrame(context, look, row).apply {
        val table = TableLayout(context)
        fun line(cells: List<String>, size: Int, colour: Int, weight: Int) = table.addView(TableRow(context).apply {
            for (cell in cells) addView(look.words(cell, size, colour, weight).apply {
                setPadding(look.dp(6), look.dp(6), look.dp(6), look.dp(6))
                maxWidth = look.rem(14f)
            })
        })
        if (body.columns.any(String::isNotEmpty)) line(body.columns, R.dimen.type_small, R.color.soft, 600)
        body.cells.forEach { line(it, R.dimen.type_second, R.color.ink, 400) }
        addView(HorizontalScrollView(context).apply { addView(table) }, LinearLayout.LayoutParams(MATCH, WRAP))
        row.go?.let { go -> addView(leading(row.spoken, go), LinearLayout.LayoutParams(MATCH, WRAP)) }
    }

    private fun step(body: Body.Step): View {
        val number = look.words(body.number.toString(), R.dimen.type_row, if (body.done) R.color.paper else R.color.ink, 800).apply {
            background = look.frame(R.color.ink, 2f, if (body.done) R.color.ink else R.color.paper)
            gravity = Gravity.CENTER
            textAlignment = View.TEXT_ALIGNMENT_GRAVITY
            minWidth = look.rem(2.125f)
            minHeight = look.rem(2.125f)
        }
        val line = Flow(context, gap).put(number).put(middle(body.title, body.second), look.rem(8f), 1f)
        return if (body.value.isEmpty()) line else line.put(value(body.value), end = true)
    }

    /** The bar of what can be done, within reach of a thumb; for a left hand it begins at the other end. */
    private fun deeds(body: Body.Deeds): View {
        val bar = Flow(context, look.dp(8)).apply { stretched = true }
        val back = Pick(context.getString(R.string.back), "", false, "", null)
        val all = buildList {
            if (body.back) add(pick(back, deed = true).apply { setOnClickListener { hands.back() } } to Flow.Share(look.rem(4.75f), 0f))
            body.main?.let { add(pick(it, deed = true, main = true) to Flow.Share(look.rem(8f), 2f)) }
            body.others.forEach { add(pick(it, deed = true) to Flow.Share(look.rem(6.5f), 1f)) }
        }
        for ((view, share) in if (hands.choices.leftHand) all.reversed() else all) {
            view.minHeight = look.px(R.dimen.touch_action)
            bar.addView(view, share)
        }
        bar.setPadding(look.dp(12), look.dp(10), look.dp(12), look.dp(12))
        return bar
    }

    private companion object {
        /** Letters of a second line that would take more than three lines beside a value. */
        const val LONG = 66

        /** Columns of what was worked out and what was seen. */
        const val TRIAL = 5.2f

        /** Still to be read. */
        const val GAP = "__"
    }
}
