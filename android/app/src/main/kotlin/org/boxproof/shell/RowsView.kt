package org.boxproof.shell

import android.content.Context
import android.graphics.Rect
import android.util.AttributeSet
import android.view.View
import android.widget.FrameLayout
import android.widget.LinearLayout
import android.widget.ScrollView
import org.boxproof.core.Row

/** Rows one under another, of which only those near the window are built; a row that did not change keeps its view. */
internal class RowsView(context: Context, attrs: AttributeSet?) : ScrollView(context, attrs) {
    private val estimate = resources.getDimensionPixelSize(R.dimen.touch_row)

    /** Where a row is, built or not. */
    private inner class Slot(val row: Row) : FrameLayout(context) {
        var high = estimate

        override fun onMeasure(widthMeasureSpec: Int, heightMeasureSpec: Int) {
            if (childCount == 0) return setMeasuredDimension(MeasureSpec.getSize(widthMeasureSpec), high)
            super.onMeasure(widthMeasureSpec, heightMeasureSpec)
            high = measuredHeight
        }
    }

    private val column get() = part<LinearLayout>(R.id.column)
    private val slots get() = (0 until column.childCount).map(column::getChildAt).filterIsInstance<Slot>()
    private var make: (Row) -> View = { View(context) }

    /** A row and how far its top is above that of the window. What is laid out anew keeps it there. */
    private var anchor: Pair<String, Int>? = null

    /** A row that is to be in sight once it is laid out. */
    private var bringing: String? = null

    /** Shows rows between `over` and `under`, beginning where the person was. */
    fun show(rows: List<Row>, over: View?, under: View?, place: Pair<String, Int>?, make: (Row) -> View) {
        this.make = make
        val old = slots.associateBy { it.row.key }
        val focused = column.findFocus()
        val kept = rows.map { row -> old[row.key]?.takeIf { it.row == row } ?: Slot(row) }
        val wanted = listOfNotNull(over) + kept + listOfNotNull(under)
        wanted.forEachIndexed { n, view ->
            if (column.getChildAt(n) === view) return@forEachIndexed
            (view.parent as? LinearLayout)?.removeView(view)
            column.addView(view, n)
        }
        while (column.childCount > wanted.size) column.removeViewAt(column.childCount - 1)
        anchor = place
        if (place == null) scrollTo(0, 0)
        if (focused != null && focused.isAttachedToWindow) focused.requestFocus()
        fill()
    }

    /** Where the person is: the first row in sight. */
    fun place(): Pair<String, Int>? = slots.firstOrNull { it.bottom > scrollY }?.let { it.row.key to scrollY - it.top }

    /** Moves no more than is needed for a row to be in sight. */
    fun bring(key: String) {
        bringing = key
        requestLayout()
    }

    /** The row of this key, or every row, is built anew at the next showing. */
    fun forget(key: String? = null) = slots.forEach { if (key == null || it.row.key == key) it.removeAllViews() }

    private fun fill() {
        val (window, all) = (if (height > 0) height else resources.displayMetrics.heightPixels) to slots
        val begin = anchor?.let { (key, by) -> all.find { it.row.key == key }?.let { top(it, all) + by } } ?: scrollY
        var top = 0
        for (slot in all) {
            val near = top + slot.high > begin - window && top < begin + 2 * window
            val far = top + slot.high < begin - 3 * window || top > begin + 4 * window
            if (near && slot.childCount == 0) slot.addView(make(slot.row))
            else if (far && slot.childCount > 0 && !slot.hasFocus()) slot.removeAllViews()
            top += slot.high
        }
    }

    private fun top(slot: Slot, all: List<Slot>) = all.takeWhile { it !== slot }.sumOf { it.high }

    override fun onScrollChanged(l: Int, t: Int, oldl: Int, oldt: Int) {
        super.onScrollChanged(l, t, oldl, oldt)
        if (!isInLayout) {
            // Rows that are built above the window may be higher than was guessed; what is in sight stays where it is.
            val here = place()
            val empty = slots.count { it.childCount == 0 }
            fill()
            if (slots.count { it.childCount == 0 } != empty) anchor = here
        }
    }

    override fun onLayout(changed: Boolean, l: Int, t: Int, r: Int, b: Int) {
        super.onLayout(changed, l, t, r, b)
        anchor?.let { (key, by) -> slots.find { it.row.key == key }?.let { scrollTo(0, it.top + by) } }
        anchor = null
        post {
            fill()
            bringing?.let { key -> slots.find { it.row.key == key }?.run { requestRectangleOnScreen(Rect(0, 0, width, high), true) } }
            bringing = null
        }
    }

    /** How many rows are built; the tests ask. */
    val built get() = slots.count { it.childCount > 0 }
}
