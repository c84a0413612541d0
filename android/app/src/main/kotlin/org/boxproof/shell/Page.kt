package org.boxproof.shell

import android.content.Context
import android.os.Build
import android.view.HapticFeedbackConstants
import android.view.View
import android.view.WindowInsets
import android.widget.LinearLayout
import android.widget.TextView
import org.boxproof.core.Body
import org.boxproof.core.Row
import org.boxproof.core.Screen

/** The page: head, rows, and the bar of what can be done. With large text head and bar stand among the rows. */
internal class Page(context: Context, private val look: Look, private val hands: Hands) : LinearLayout(context) {
    val rows = RowsView(context, look.px(R.dimen.touch_row))
    private val maker = RowViews(context, look, hands)
    private val banner = LinearLayout(context).apply {
        id = R.id.banner
        orientation = VERTICAL
        background = look.frame(R.color.ink, 3f)
        look.dp(16).let { setPadding(it, look.dp(12), it, look.dp(12)) }
        visibility = GONE
    }
    private val refusal = look.words("", R.dimen.type_body, weight = 600).apply { id = R.id.refusal; accessibilityLiveRegion = ACCESSIBILITY_LIVE_REGION_ASSERTIVE }

    /** Read out and not seen. */
    private val live = TextView(context).apply { accessibilityLiveRegion = ACCESSIBILITY_LIVE_REGION_POLITE; setTextColor(0) }
    private var bar: View? = null
    private var head: View? = null

    /** What head and bar were made of: while it is the same they stay, and so does a screen reader's place on them. */
    private var made: List<Any?> = emptyList()

    init {
        orientation = VERTICAL
        id = R.id.page
        setBackgroundColor(context.getColor(R.color.paper))
        banner.addView(refusal)
        banner.addView(button(look, context.getString(R.string.dismiss), R.dimen.type_body).apply { setOnClickListener { dismiss() } },
            LayoutParams(MATCH, WRAP).apply { topMargin = look.dp(10) })
        addView(live, LayoutParams(MATCH, 1))
        addView(banner, LayoutParams(MATCH, WRAP))
        addView(rows, LayoutParams(MATCH, 0, 1f))
        keepClear()
    }

    fun show(screen: Screen, shown: List<Row>, place: Pair<String, Int>?, canGoBack: Boolean) {
        val deeds = screen.rows.mapNotNull { (it.body as? Body.Deeds)?.run { copy(back = back && canGoBack) } }
        val of = screen.run { listOf(over, title, tag, ongoing, deeds) }
        if (of != made) {
            listOfNotNull(head, bar).forEach { (it.parent as? LinearLayout)?.removeView(it) }
            head = head(screen)
            bar = bar(deeds)
            made = of
        }
        place(head ?: return, bar ?: return, shown, place)
        if (Build.VERSION.SDK_INT >= 28) rows.accessibilityPaneTitle = screen.title
    }

    private fun rule() = View(context).apply { setBackgroundColor(context.getColor(R.color.ink)) }

    private fun bar(deeds: List<Body.Deeds>) = LinearLayout(context).apply {
        id = R.id.deeds
        orientation = VERTICAL
        visibility = if (deeds.isEmpty()) GONE else VISIBLE
        addView(rule(), LayoutParams(MATCH, look.px(R.dimen.line_bar_rule)))
        for (body in deeds) addView(maker.view(Row("", null, false, "", null, null, body)), LayoutParams(MATCH, WRAP))
    }

    private fun place(over: View, under: View, shown: List<Row>, place: Pair<String, Int>?) {
        val metrics = resources.displayMetrics
        // A bar that would cover a third of the screen stands at the end of the rows instead.
        if (under.parent == null) under.measure(MeasureSpec.makeMeasureSpec(metrics.widthPixels, MeasureSpec.EXACTLY), 0)
        val tall = under.parent?.let { it !== this } ?: (under.measuredHeight > metrics.heightPixels / 3)
        val roomy = !look.large && metrics.heightPixels > look.dp(480)
        rows.show(shown, over.takeUnless { roomy }, under.takeIf { tall }, place, maker::view)
        if (over.parent == null) addView(over, indexOfChild(rows), LayoutParams(MATCH, WRAP))
        if (under.parent == null) addView(under, LayoutParams(MATCH, WRAP))
    }

    private fun head(screen: Screen) = LinearLayout(context).apply {
        id = R.id.head
        orientation = VERTICAL
        val side = look.px(R.dimen.space_page_side)
        val words = LinearLayout(context).apply { orientation = VERTICAL; setPadding(side, look.dp(10), side, look.dp(8)) }
        if (screen.over.isNotEmpty()) words.addView(look.words(screen.over, R.dimen.type_second, R.color.soft))
        val title = look.words(screen.title, R.dimen.type_title, weight = 700).apply { if (Build.VERSION.SDK_INT >= 28) isAccessibilityHeading = true }
        val line = Flow(context, look.dp(10))
        screen.tag?.let { line.put(maker.tape(it)) }
        words.addView(line.put(title, look.rem(8f), 1f), LayoutParams(MATCH, WRAP))
        screen.ongoing?.let { words.addView(look.words(it, R.dimen.type_second, weight = 600).apply { setPadding(0, look.dp(4), 0, 0) }) }
        addView(words, LayoutParams(MATCH, WRAP))
        addView(rule(), LayoutParams(MATCH, look.px(R.dimen.line_bar_rule)))
    }

    /** What was chosen for this phone has changed: every row is built anew. */
    fun forget() {
        rows.forget()
        made = emptyList()
    }

    /** Why nothing was done, in a frame: never filled, for only a hazard is. */
    fun refuse(sentence: String) {
        refusal.text = sentence
        banner.visibility = VISIBLE
    }

    fun dismiss() { banner.visibility = GONE }

    fun say(words: String) { live.text = words }

    /** Felt by a thumb in a glove: it was noted. */
    fun tick() = performHapticFeedback(if (Build.VERSION.SDK_INT >= 30) HapticFeedbackConstants.CONFIRM else HapticFeedbackConstants.VIRTUAL_KEY)

    /** From SDK 35 on the window reaches under the system bars whether asked for or not. */
    private fun keepClear() = setOnApplyWindowInsetsListener { v, insets ->
        if (Build.VERSION.SDK_INT >= 30) {
            val edge = insets.getInsets(WindowInsets.Type.systemBars() or WindowInsets.Type.displayCutout() or WindowInsets.Type.ime())
            v.setPadding(edge.left, edge.top, edge.right, edge.bottom)
            WindowInsets.CONSUMED
        } else {
            @Suppress("DEPRECATION")
            insets.run { v.setPadding(systemWindowInsetLeft, systemWindowInsetTop, systemWindowInsetRight, systemWindowInsetBottom) }
            @Suppress("DEPRECATION")
            insets.consumeSystemWindowInsets()
        }
    }
}
