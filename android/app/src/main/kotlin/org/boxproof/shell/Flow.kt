package org.boxproof.shell

import android.content.Context
import android.text.Layout
import android.util.AttributeSet
import android.view.View
import android.view.ViewGroup
import android.view.ViewGroup.LayoutParams.WRAP_CONTENT
import android.widget.TextView
import kotlin.math.ceil

/**
 * Children side by side as long as they fit, then in further lines; nothing is cut and no word breaks while a line of
 * its own would hold it. `values/attrs.xml` says what a layout can ask of it.
 */
internal class Flow(context: Context, attrs: AttributeSet?) : ViewGroup(context, attrs) {
    /** What a child wants, in pixels. */
    class Share(context: Context, attrs: AttributeSet?) : LayoutParams(WRAP_CONTENT, WRAP_CONTENT) {
        private val asked = context.obtainStyledAttributes(attrs, R.styleable.Flow_Layout)
        var basis = context.rem(asked.getFloat(R.styleable.Flow_Layout_layout_basis, 0f))
        val grow = asked.getFloat(R.styleable.Flow_Layout_layout_grow, 0f)
        var end = asked.getBoolean(R.styleable.Flow_Layout_layout_end, false)

        /** As much of it as there is room for; found anew at each measuring. */
        var want = 0

        init { asked.recycle() }
    }

    private val asked = context.obtainStyledAttributes(attrs, R.styleable.Flow)
    private val gap = asked.getDimensionPixelSize(R.styleable.Flow_gap, 0)
    private val even = asked.getBoolean(R.styleable.Flow_even, false)
    private val most = asked.getInt(R.styleable.Flow_most, 4)
    private val stretched = asked.getBoolean(R.styleable.Flow_stretched, even)
    private var lines = emptyList<List<View>>()
    private val List<View>.wide get() = sumOf { it.measuredWidth } + gap * (size - 1)
    private val List<View>.high get() = maxOf { it.measuredHeight }
    private val high get() = lines.sumOf { it.high } + gap * (lines.size - 1).coerceAtLeast(0)

    init { asked.recycle() }

    override fun onMeasure(widthMeasureSpec: Int, heightMeasureSpec: Int) {
        val aside = paddingLeft + paddingRight
        val inner = (MeasureSpec.getSize(widthMeasureSpec) - aside).coerceAtLeast(1)
        val seen = (0 until childCount).map(::getChildAt).filter { it.visibility != GONE }
        lines = if (even) columns(seen, inner) else broken(seen, inner)
        val wide = aside + (lines.maxOfOrNull { it.wide } ?: 0)
        setMeasuredDimension(resolveSize(wide, widthMeasureSpec), maxOf(high + paddingTop + paddingBottom, suggestedMinimumHeight))
    }

    private fun broken(seen: List<View>, inner: Int): List<List<View>> {
        val out = mutableListOf<MutableList<View>>()
        for (child in seen) {
            child.share.want = wanted(child, inner)
            if (out.isEmpty() || out.last().sumOf { it.share.want + gap } + child.share.want > inner) out += mutableListOf<View>()
            out.last() += child
        }
        return out.onEach { line ->
            val left = inner - line.sumOf { it.share.want } - gap * (line.size - 1)
            val all = line.map { it.share.grow }.sum()
            size(line) { if (all > 0) it.want + (left * it.grow / all).toInt() else it.want }
        }
    }

    private fun columns(seen: List<View>, inner: Int): List<List<View>> {
        val widest = seen.maxOfOrNull(::leastWidth) ?: return emptyList()
        val fit = (most downTo 2).firstOrNull { n -> widest <= (inner - gap * (n - 1)) / n } ?: 1
        val rows = (seen.size + fit - 1) / fit
        val across = (seen.size + rows - 1) / rows
        return seen.chunked(across).onEach { line -> size(line) { (inner - gap * (across - 1)) / across } }
    }

    private fun wanted(child: View, inner: Int): Int {
        val basis = child.share.basis
        if (basis > 0) return maxOf(basis, leastWidth(child)).coerceAtMost(inner)
        child.measure(MeasureSpec.makeMeasureSpec(inner, MeasureSpec.AT_MOST), 0)
        return child.measuredWidth.coerceAtMost(inner)
    }

    /** As wide as the longest word. */
    private fun leastWidth(child: View): Int {
        val text = (child as? TextView)?.text ?: return 0
        val ends = text.indices.filter { text[it] == ' ' || text[it] == '\n' } + text.length
        val words = ends.zip(listOf(-1) + ends) { end, before -> Layout.getDesiredWidth(text, before + 1, end, child.paint) }
        return ceil(words.max()).toInt() + child.compoundPaddingLeft + child.compoundPaddingRight + 1
    }

    private fun size(line: List<View>, width: (Share) -> Int) {
        line.forEach { it.measure(MeasureSpec.makeMeasureSpec(width(it.share), MeasureSpec.EXACTLY), 0) }
        val high = MeasureSpec.makeMeasureSpec(line.high, MeasureSpec.EXACTLY)
        if (stretched) line.forEach { it.measure(MeasureSpec.makeMeasureSpec(it.measuredWidth, MeasureSpec.EXACTLY), high) }
    }

    override fun onLayout(changed: Boolean, l: Int, t: Int, r: Int, b: Int) {
        var y = paddingTop + ((height - paddingTop - paddingBottom - high) / 2).coerceAtLeast(0)
        for (line in lines) {
            val free = width - paddingLeft - paddingRight - line.wide
            var x = paddingStart + if (line.all { it.share.end }) free else 0
            for (child in line) {
                val left = if (layoutDirection == LAYOUT_DIRECTION_RTL) width - x - child.measuredWidth else x
                val top = y + (line.high - child.measuredHeight) / 2
                child.layout(left, top, left + child.measuredWidth, top + child.measuredHeight)
                x += child.measuredWidth + gap
            }
            y += line.high + gap
        }
    }

    override fun generateLayoutParams(attrs: AttributeSet?) = Share(context, attrs)
    override fun generateDefaultLayoutParams() = Share(context, null)
}

/** What this child of a [Flow] wants. */
internal val View.share get() = layoutParams as Flow.Share
