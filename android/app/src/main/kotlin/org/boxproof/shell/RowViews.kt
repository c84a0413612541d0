package org.boxproof.shell

import android.content.Context
import android.graphics.Typeface
import android.os.Build
import android.text.SpannableStringBuilder
import android.text.style.AbsoluteSizeSpan
import android.text.style.TypefaceSpan
import android.view.Gravity
import android.view.View
import android.view.ViewGroup.LayoutParams.MATCH_PARENT
import android.view.ViewGroup.LayoutParams.WRAP_CONTENT
import android.widget.FrameLayout
import android.widget.LinearLayout
import android.widget.TableLayout
import android.widget.TableRow
import android.widget.TextView
import org.boxproof.core.Body
import org.boxproof.core.Edge
import org.boxproof.core.Pick
import org.boxproof.core.Row

/** Letters of a second line that would take more than three lines beside a value. */
private const val LONG = 66

/** Still to be read. */
private const val GAP = "__"

/** One view for each of the thirteen kinds of row, from its layout; the compiler names a kind that is missing. */
internal class RowViews(private val context: Context, private val look: Look, private val hands: Hands) {
    fun view(row: Row): View = when (val body = row.body) {
        is Body.Headline -> headline(row, body)
        is Body.Sentence -> whole(row, R.layout.sentence, R.id.text to body.text).apply { pad(look.dp(8)) }
        is Body.Notice -> notice(row, body)
        is Body.Item -> item(row, body)
        is Body.Blank -> blank(row, body)
        is Body.Choice -> holding(row, R.layout.choice, R.id.label to body.label) { picks(body.options) }
        is Body.Figure -> figure(row, body)
        is Body.Trial -> trial(row, body)
        is Body.Strands -> strands(row, body)
        is Body.Drawing -> drawing(row, body)
        is Body.Grid -> grid(row, body)
        is Body.Step -> step(row, body)
        is Body.Deeds -> deeds(body)
    }

    private fun frame(row: Row, layout: Int, vararg words: Words, ruled: Boolean = true) = RowFrame(context, look, row, ruled).apply {
        View.inflate(context, layout, this)
        put(*words)
    }

    /** A row that is pressed as a whole, or one that is only read. */
    private fun whole(row: Row, layout: Int, vararg words: Words, fill: RowFrame.() -> Unit = {}) = frame(row, layout, *words).apply {
        minimumHeight = if (row.body is Body.Sentence) 0 else look.px(R.dimen.touch_row)
        gravity = Gravity.CENTER_VERTICAL
        fill()
        row.go?.let { go -> leadsOn { hands.press(go) } }
        speaks(row.spoken)
    }

    /** A row with something to press inside it: its `go`, if it has one, is a part of its own over the rest. */
    private fun holding(row: Row, layout: Int, vararg words: Words, fill: RowFrame.() -> Unit) = frame(row, layout, *words).apply {
        pad(look.dp(8), if (row.edge == null) look.dp(12) else look.px(R.dimen.space_row_text_x), look.dp(12))
        fill()
        val first = getChildAt(0)
        val go = row.go?.takeIf { first.shown } ?: return@apply
        removeView(first)
        addView(RowFrame(context, look, null, ruled = false).apply {
            gravity = Gravity.CENTER_VERTICAL
            addView(first)
            leadsOn { hands.press(go) }
            speaks(row.spoken)
        }, 0)
    }

    private fun headline(row: Row, body: Body.Headline): View {
        val over = body.right.size > 1
        val right = if (over) R.layout.headline_column else R.layout.headline_right
        return frame(row, if (over) R.layout.headline_columns else R.layout.headline, R.id.heading to body.text, ruled = false).apply {
            pad(0)
            for (words in body.right) part<Flow>(R.id.line).add<TextView>(right).text = words
            row.go?.let { go -> leadsOn { hands.press(go) }; speaks(row.spoken) }
        }
    }

    private fun notice(row: Row, body: Body.Notice) = whole(row, if (body.hazard) R.layout.hazard else R.layout.notice,
        R.id.title to body.title, R.id.text to body.text, R.id.citation to body.citation) {
        hatched = body.hazard
        boxed = !body.hazard
        setBackgroundResource(if (body.hazard) R.color.block else R.drawable.notice)
        if (body.hazard) return@whole pad(look.dp(12), look.dp(36))
        pad(look.dp(8), if (row.edge == null) look.dp(12) else look.px(R.dimen.space_row_text_x))
        layoutParams = FrameLayout.LayoutParams(MATCH_PARENT, WRAP_CONTENT).apply { setMargins(look.dp(12), look.dp(8), look.dp(12), look.dp(8)) }
    }

    private fun item(row: Row, body: Body.Item) = whole(row, R.layout.item, R.id.tag to body.tag,
        R.id.title to body.title, R.id.second to body.second, R.id.value to body.value) {
        // A tag is written as in the building: dashed where it is only intended.
        val tag = part<View>(R.id.tag)
        tag.isActivated = row.edge == Edge.UNKNOWN
        if (row.edge == Edge.PLANNED) tag.setBackgroundResource(R.drawable.tape_planned)
        // What goes on for lines keeps the whole width, and its value stands below it.
        val long = body.tag == null && body.second.length > LONG
        part<View>(R.id.middle).share.basis = look.rem(if (long) 40f else if (body.tag == null) 9f else 6.5f)
        row.mark?.let { part<Flow>(R.id.line).addView(Drawn(context, look, it), Flow.Share(context, null).apply { end = true }) }
    }

    private fun blank(row: Row, body: Body.Blank) = holding(row, R.layout.blank) {
        val field = part<Field>(R.id.field)
        put(R.id.label, body.label).labelFor = field.edit.id
        field.edit.tag = row.key
        field.holds(hands.typed[row.key] ?: body.value, body.unit, body.numeric, hands.choices.ownKeys)
        field.changes { if (it == body.value) hands.typed.remove(row.key) else hands.typed[row.key] = it }
        field.enters { hands.enter(row.key, body.enter, it) }
    }

    private fun View.picks(options: List<Pick>) = part<Flow>(R.id.picks).run {
        options.forEach { pick(R.layout.pick, it).isSelected = it.on }
        shown = true
    }

    private fun Flow.pick(layout: Int, pick: Pick, at: Int = -1) = add<TextView>(layout, at).apply {
        text = lines(pick.text, pick.second)
        setOnClickListener { hands.pick(pick) }
    }

    /** A line, and one under it that is small and not bold. */
    private fun lines(first: String, second: String) = SpannableStringBuilder(first).apply {
        if (second.isEmpty()) return@apply
        append("\n$second", AbsoluteSizeSpan(look.px(R.dimen.type_small)), 0)
        if (Build.VERSION.SDK_INT >= 28) setSpan(TypefaceSpan(Typeface.DEFAULT), first.length, length, 0)
    }

    private fun figure(row: Row, body: Body.Figure) = whole(row, if (row.now) R.layout.figure_now else R.layout.figure,
        R.id.title to body.title, R.id.second to body.second, R.id.computed to body.computed) {
        put(R.id.value, body.value.ifEmpty { GAP } + if (body.unit.isEmpty()) "" else "\u00a0${body.unit}")
        body.bar?.let { part<LinearLayout>(R.id.middle).addView(Drawn(context, look, it)) }
    }

    private fun trial(row: Row, body: Body.Trial): View {
        val fill: RowFrame.() -> Unit = {
            for (at in body.handles) part<Flow>(R.id.handles).add<Flow>(R.layout.handle).run {
                addView(Drawn(context, look, at.sketch), 0)
                put(R.id.name, lines(at.name, at.position))
            }
            // Columns: they take room also where nothing is told yet.
            part<TextView>(R.id.computed).text = body.computed
            part<TextView>(R.id.seen).text = lines(body.seen, body.verdict)
            part<TextView>(R.id.seen).isActivated = row.edge == Edge.DISAGREES
            if (body.answers.isNotEmpty()) picks(body.answers)
        }
        return if (body.answers.isEmpty()) whole(row, R.layout.trial, fill = fill) else holding(row, R.layout.trial, fill = fill)
    }

    private fun strands(row: Row, body: Body.Strands) =
        whole(row, R.layout.strands, R.id.title to body.title, R.id.second to body.second) {
            for (strand in body.strands) part<Flow>(R.id.chips).add<Flow>(R.layout.strand).run {
                addView(Drawn(context, look, strand.sketch), 0)
                put(if (strand.tape) R.id.tape else R.id.text, strand.text)
            }
        }

    private fun drawing(row: Row, body: Body.Drawing) = frame(row.copy(edge = null), R.layout.drawing).apply {
        setPadding(0, 0, 0, 0)
        val picture = PictureView(context, look, body, row.spoken) { hands.press(it) }
        addView(picture, 0)
        pressed(R.id.left) { picture.pan(-1) }
        pressed(R.id.right) { picture.pan(1) }
        picture.wider = { part<View>(R.id.ends).shown = it }
        // The same places as a list, for who asks for it; always with large text, for words in pictures do not grow.
        val list = part<LinearLayout>(R.id.list)
        body.places.forEach { list.addView(leading(it.spoken, it.token)) }
        list.shown = look.large || hands.choices.listed
        part<View>(R.id.toggle).shown = body.places.isNotEmpty() && !look.large
        pressed(R.id.toggle) {
            hands.choices["list"] = if (hands.choices.listed) "no" else "yes"
            list.shown = hands.choices.listed
        }
        row.go?.let { addView(leading(row.spoken, it)) }
    }

    private fun leading(words: String, go: String) =
        whole(Row("", null, false, words, null, go, Body.Sentence(words)), R.layout.leading, R.id.text to words)

    private fun grid(row: Row, body: Body.Grid) = frame(row, R.layout.grid).apply {
        fun line(cells: List<String>, layout: Int) {
            val line = TableRow(context).also(part<TableLayout>(R.id.table)::addView)
            for (cell in cells) line.add<TextView>(layout).apply { maxWidth = look.rem(14f) }.text = cell
        }
        if (body.columns.any(String::isNotEmpty)) line(body.columns, R.layout.cell_head)
        body.cells.forEach { line(it, R.layout.cell) }
        row.go?.let { addView(leading(row.spoken, it)) }
    }

    private fun step(row: Row, body: Body.Step) = whole(row, R.layout.step, R.id.number to body.number.toString(),
        R.id.title to body.title, R.id.second to body.second, R.id.value to body.value) {
        val number = part<TextView>(R.id.number)
        number.isActivated = body.done
        number.minHeight = look.rem(2.125f)
    }

    /** The bar of what can be done, within reach of a thumb; for a left hand it begins at the other end. */
    private fun deeds(body: Body.Deeds) = (View.inflate(context, R.layout.deeds, null) as Flow).apply {
        val at = if (hands.choices.leftHand) 0 else -1
        if (body.back) add<View>(R.layout.deed_back, at).setOnClickListener { hands.back() }
        body.main?.let { pick(R.layout.deed_main, it, at) }
        body.others.forEach { pick(R.layout.deed, it, at) }
    }
}
