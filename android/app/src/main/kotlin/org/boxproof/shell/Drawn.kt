package org.boxproof.shell

import android.content.Context
import android.graphics.Canvas
import android.view.View
import org.boxproof.core.Sketch

/** A small drawing of the core's. It grows with the text as far as there is room. */
internal class Drawn(context: Context, private val look: Look, private val sketch: Sketch) : View(context) {
    private val painter = Painter(look)

    override fun onMeasure(widthMeasureSpec: Int, heightMeasureSpec: Int) {
        val wide = look.rem(sketch.width.toFloat() / 16)
        val width = if (MeasureSpec.getMode(widthMeasureSpec) == MeasureSpec.UNSPECIFIED) wide else minOf(wide, MeasureSpec.getSize(widthMeasureSpec))
        setMeasuredDimension(width, (width * sketch.height / sketch.width).toInt())
    }

    override fun onDraw(canvas: Canvas) {
        val scale = width / sketch.width.toFloat()
        canvas.scale(scale, scale)
        painter.draw(canvas, sketch.coats)
    }
}
