package org.boxproof.shell

import android.content.Context
import android.text.Layout
import android.view.View
import android.view.ViewGroup
import android.widget.TextView

/**
 * Children side by side as long as they fit, then in further lines; nothing is cut and no word breaks while a line of
 * its own would hold it. With `even`, all have the same width and stand in lines of equal length.
 */
internal class Flow(context: Context, private val gap: Int, private val even: Boolean = false, private val most: Int = 4) :
    ViewGroup(context) {
    /** `basis`: the width that it wants, 0 for that of its content; `grow`: its share of what a line has left. */
    class Share(val basis: Int, val grow: Float, val end: Boolean = false) : LayoutParams(WRAP, WRAP)

    private class Line(val children: List<View>, val widths: IntArray, val height: Int)

    private var lines = emptyList<Line>()

    /** Are all children of a line as high as the highest? */
    var stretched = even

    fun put(child: View, basis: Int = 0, grow: Float = 0f, end: Boolean = false) = apply { addView(child, Share(basis, grow, end)) }

    override fun onMeasure(widthMeasureSpec: Int, heightMeasureSpec: Int) {
        val wide = MeasureSpec.getSize(widthMeasureSpec)
        val inner = (wide - paddingLeft - paddingRight).coerceAtLeast(1)
        val seen = (0 until childCount).map(::getChildAt).filter { it.visibility != GONE }
        lines = if (even) columns(seen, inner) else broken(seen, inner)
        val asked = lines.sumOf { it.height } + gap * (lines.size - 1).coerceAtLeast(0) + paddingTop + paddingBottom
        val used = if (MeasureSpec.getMode(widthMeasureSpec) == MeasureSpec.EXACTLY) wide
        else paddingLeft + paddingRight + (lines.maxOfOrNull { it.widths.sum() + gap * (it.widths.size - 1) } ?: 0)
        setMeasuredDimension(used, maxOf(asked, suggestedMinimumHeight))
    }

    private fun broken(seen: List<View>, inner: Int): List<Line> {
        val out = mutableListOf<Line>()
        var line = mutableListOf<Pair<View, Int>>()
        for (child in seen) {
            val want = wanted(child, inner)
            if (line.isNotEmpty() && line.sumOf { it.second + gap } + want > inner) {
                out += finished(line, inner)
                line = mutableListOf()
            }
            line += child to want
        }
        if (line.isNotEmpty()) out += finished(line, inner)
        return out
    }

    private fun columns(seen: List<View>, inner: Int): List<Line> {
        val widest = seen.maxOfOrNull(::leastWidth) ?: return emptyList()
        val fit = (most downTo 2).firstOrNull { n -> widest <= (inner - gap * (n - 1)) / n } ?: 1
        val rows = (seen.size + fit - 1) / fit
        val across = (seen.size + rows - 1) / rows
        val width = (inner - gap * (across - 1)) / across
        return seen.chunked(across).map { line -> sized(line, IntArray(line.size) { width }) }
    }

    private fun wanted(child: View, inner: Int): Int {
        val share = child.layoutParams as Share
        if (share.basis == 0) child.measure(MeasureSpec.makeMeasureSpec(inner, MeasureSpec.AT_MOST), 0)
        val own = if (share.basis == 0) child.measuredWidth else maxOf(share.basis, leastWidth(child))
        return own.coerceAtMost(inner)
    }

    /** As wide as the longest word. */
    private fun leastWidth(child: View): Int {
        val text = (child as? TextView)?.text ?: return 0
        val ends = text.indices.filter { text[it] == ' ' || text[it] == '\n' } + text.length
        val words = ends.zip(listOf(-1) + ends) { end, before -> Layout.getDesiredWidth(text, before + 1, end, child.paint) }
        return kotlin.math.ceil(words.maxOrNull() ?: 0f).toInt() + child.compoundPaddingLeft + child.compoundPaddingRight + 1
    }

    private fun finished(line: List<Pair<View, Int>>, inner: Int): Line {
        val left = inner - line.sumOf { it.second } - gap * (line.size - 1)
        val grows = line.map { (it.first.layoutParams as Share).grow }
        val all = grows.sum()
        val widths = line.mapIndexed { n, (_, want) -> if (all > 0) want + (left * grows[n] / all).toInt() else want }
        return sized(line.map { it.first }, widths.toIntArray())
    }

    private fun sized(children: List<View>, widths: IntArray): Line {
        fun measure(n: Int, high: Int) = children[n].measure(MeasureSpec.makeMeasureSpec(widths[n], MeasureSpec.EXACTLY), high)
        children.indices.forEach { measure(it, 0) }
        val high = children.maxOf { it.measuredHeight }
        if (stretched) children.indices.forEach { measure(it, MeasureSpec.makeMeasureSpec(high, MeasureSpec.EXACTLY)) }
        return Line(children, widths, high)
    }

    override fun onLayout(changed: Boolean, l: Int, t: Int, r: Int, b: Int) {
        val asked = lines.sumOf { it.height } + gap * (lines.size - 1).coerceAtLeast(0)
        var y = paddingTop + ((height - paddingTop - paddingBottom - asked) / 2).coerceAtLeast(0)
        for (line in lines) {
            val free = width - paddingLeft - paddingRight - line.widths.sum() - gap * (line.widths.size - 1)
            val atEnd = line.children.all { (it.layoutParams as Share).end }
            var x = paddingStart + if (atEnd) free else 0
            line.children.forEachIndexed { n, child ->
                val left = if (layoutDirection == LAYOUT_DIRECTION_RTL) width - x - line.widths[n] else x
                val top = y + (line.height - child.measuredHeight) / 2
                child.layout(left, top, left + line.widths[n], top + child.measuredHeight)
                x += line.widths[n] + gap
            }
            y += line.height + gap
        }
    }

    override fun generateDefaultLayoutParams() = Share(0, 0f)
}
