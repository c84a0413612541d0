package org.boxproof.shell

import android.content.Context
import android.graphics.Canvas
import android.view.View
import android.widget.Button
import android.widget.LinearLayout
import org.boxproof.core.Edge
import org.boxproof.core.Row

/** What is round a row: its edge at the start says how we know, a bar at the end that it can be pressed. */
internal class RowFrame(context: Context, private val look: Look, private val row: Row?, private val ruled: Boolean = true) :
    LinearLayout(context) {
    private val painter = Painter(look)
    private val edge = row?.edge
    /** A frame all round, as a caution has. */
    var boxed = false
    /** A hatched start, as a hazard has. */
    var hatched = false
    /** Pressing the whole of it leads on. */
    val leads get() = isClickable

    init {
        orientation = VERTICAL
        setWillNotDraw(false)
        setBackgroundResource(if (row?.now == true) R.drawable.row_now else R.drawable.row)
        pad(look.px(R.dimen.space_row_pad))
    }

    fun pad(over: Int, start: Int = look.px(if (edge == null) R.dimen.space_page_side else R.dimen.space_row_text_x),
        end: Int = look.px(R.dimen.space_page_side)) = setPaddingRelative(start, over, end, over)

    /** Presses as one thing; a screen reader says it in the row's own words. */
    fun leadsOn(go: () -> Unit) = apply {
        foreground = context.getDrawable(R.drawable.ring)
        setOnClickListener { go() }
        setPaddingRelative(paddingStart, paddingTop, paddingEnd + look.px(R.dimen.space_lead_on_w), paddingBottom)
        minimumHeight = maxOf(minimumHeight, look.px(R.dimen.touch_min))
    }

    /** Says itself whole; what it shows is not said again. */
    fun speaks(words: String) = apply {
        if (words.isEmpty()) return@apply
        contentDescription = words
        for (n in 0 until childCount) getChildAt(n).importantForAccessibility = IMPORTANT_FOR_ACCESSIBILITY_NO_HIDE_DESCENDANTS
        importantForAccessibility = IMPORTANT_FOR_ACCESSIBILITY_YES
    }

    override fun getAccessibilityClassName(): CharSequence = if (leads) Button::class.java.name else super.getAccessibilityClassName()

    override fun dispatchDraw(canvas: Canvas) {
        super.dispatchDraw(canvas)
        canvas.save()
        val density = look.dp(1f)
        canvas.scale(density, density)
        val (wide, high) = width / density to height / density
        // Drawn from the start edge; on a page that reads from the right everything here is mirrored.
        if (layoutDirection == View.LAYOUT_DIRECTION_RTL) canvas.scale(-1f, 1f, wide / 2, 0f)
        if (hatched) {
            canvas.clipRect(0f, 0f, wide, high)
            for (y in -20..high.toInt() + 20 step 20) painter.stroke(canvas, Painter.path("M0 ${y + 20}L24 $y"), "on_block", 6f)
        } else edge?.let { edge(canvas, it, high) }
        val bar = look.px(R.dimen.space_lead_on_w) / density
        if (leads) painter.fill(canvas, box(wide - bar, 6f, wide, high - 6), "act")
        val line = look.px(R.dimen.line_row_rule) / density
        if (ruled && !boxed && !hatched) painter.fill(canvas, box(0f, high - line, wide, high), "rule")
        canvas.restore()
    }

    private fun edge(canvas: Canvas, edge: Edge, high: Float) {
        canvas.save()
        canvas.translate(look.px(R.dimen.space_edge_x) / look.dp(1f), 6f)
        val end = high - 12
        fun line(x: Float, width: Float, vararg dash: Float, round: Boolean = false) =
            painter.stroke(canvas, Painter.path("M$x ${if (round) 3 else 0}L$x $end"), "ink", width, dash, round)
        when (edge) {
            Edge.UNKNOWN -> line(6f, 4.5f, 0.1f, 7f, round = true)
            Edge.PLANNED -> line(6f, 4f, 11f, 7f)
            Edge.FOUND -> line(6f, 3f)
            Edge.UNCHECKED -> { line(3.5f, 2.5f); line(8.5f, 2.5f) }
            Edge.LEFT -> line(6f, 11f)
            Edge.STALE -> {
                canvas.clipRect(0f, 0f, 12f, end)
                val teeth = (0..(end / 10).toInt()).joinToString("") { "L11 ${it * 10 + 5}L1 ${it * 10 + 10}" }
                painter.stroke(canvas, Painter.path("M1 0$teeth"), "ink", 2.6f)
            }
            Edge.DISAGREES -> {
                painter.fill(canvas, box(0f, 0f, 5f, end / 2), "ink")
                painter.fill(canvas, box(7f, end / 2, 12f, end), "ink")
            }
        }
        canvas.restore()
    }
}
