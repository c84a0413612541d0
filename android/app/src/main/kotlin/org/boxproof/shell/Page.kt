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
    private val maker = RowViews(context, look, hands)
    val rows: RowsView = inflate(context, R.layout.page, this).part(R.id.rows)
    private var bar: View? = null
    private var head: View? = null

    /** What head and bar were made of: while it is the same they stay, and so does a screen reader's place on them. */
    private var made: List<Any?> = emptyList()

    init {
        orientation = VERTICAL
        id = R.id.page
        setBackgroundResource(R.color.paper)
        pressed(R.id.dismiss, ::dismiss)
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

    private fun bar(deeds: List<Body.Deeds>) = inflated<LinearLayout>(R.layout.bar).apply {
        shown = deeds.isNotEmpty()
        for (body in deeds) addView(maker.view(Row("", null, false, "", null, null, body)))
    }

    private fun place(over: View, under: View, shown: List<Row>, place: Pair<String, Int>?) {
        val metrics = resources.displayMetrics
        // A bar that would cover a third of the screen stands at the end of the rows instead.
        if (under.parent == null) under.measure(MeasureSpec.makeMeasureSpec(metrics.widthPixels, MeasureSpec.EXACTLY), 0)
        val tall = under.parent?.let { it !== this } ?: (under.measuredHeight > metrics.heightPixels / 3)
        val roomy = !look.large && metrics.heightPixels > look.dp(480)
        rows.show(shown, over.takeUnless { roomy }, under.takeIf { tall }, place, maker::view)
        if (over.parent == null) addView(over, indexOfChild(rows))
        if (under.parent == null) addView(under)
    }

    private fun head(screen: Screen) = inflated<View>(R.layout.head).apply {
        put(R.id.over to screen.over, R.id.tag to screen.tag, R.id.title to screen.title, R.id.ongoing to screen.ongoing)
    }

    /** What was chosen for this phone has changed: every row is built anew. */
    fun forget() {
        rows.forget()
        made = emptyList()
    }

    /** Why nothing was done, in a frame: never filled, for only a hazard is. */
    fun refuse(sentence: String) {
        put(R.id.refusal, sentence)
        part<View>(R.id.banner).shown = true
    }

    fun dismiss() { part<View>(R.id.banner).shown = false }

    fun say(words: String) { part<TextView>(R.id.live).text = words }

    /** Felt by a thumb in a glove: it was noted. */
    fun tick() = performHapticFeedback(if (Build.VERSION.SDK_INT >= 30) HapticFeedbackConstants.CONFIRM else HapticFeedbackConstants.VIRTUAL_KEY)

    /** From SDK 35 on the window reaches under the system bars whether asked for or not. */
    @Suppress("DEPRECATION") // What replaces these calls came with SDK 30.
    private fun keepClear() = setOnApplyWindowInsetsListener { v, insets ->
        if (Build.VERSION.SDK_INT >= 30) {
            val edge = insets.getInsets(WindowInsets.Type.systemBars() or WindowInsets.Type.displayCutout() or WindowInsets.Type.ime())
            v.setPadding(edge.left, edge.top, edge.right, edge.bottom)
        } else insets.run { v.setPadding(systemWindowInsetLeft, systemWindowInsetTop, systemWindowInsetRight, systemWindowInsetBottom) }
        insets.consumeSystemWindowInsets()
    }
}
