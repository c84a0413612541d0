package org.boxproof.shell

import android.content.Context
import android.graphics.Canvas
import android.graphics.Path
import android.view.View
import org.boxproof.core.Sketch

/** A small drawing of the core's. It grows with the text. */
internal class Drawn(context: Context, private val look: Look, private val sketch: Sketch) : View(context) {
    private val painter = Painter(look)
    private val scale = look.rem(1f) / 16f

    override fun onMeasure(widthMeasureSpec: Int, heightMeasureSpec: Int) =
        setMeasuredDimension((sketch.width * scale).toInt(), (sketch.height * scale).toInt())

    override fun onDraw(canvas: Canvas) {
        canvas.scale(scale, scale)
        painter.draw(canvas, sketch.coats)
    }
}

/** A used share in thousandths with its limit. Over the limit the limit's line stands inside, and what is beyond it is hatched. */
internal class Bar(context: Context, private val look: Look, private val share: Long) : View(context) {
    private val painter = Painter(look)
    private val scale = look.rem(1f) / 16f

    override fun onMeasure(widthMeasureSpec: Int, heightMeasureSpec: Int) =
        setMeasuredDimension(MeasureSpec.getSize(widthMeasureSpec), (20 * scale).toInt())

    override fun onDraw(canvas: Canvas) {
        canvas.scale(scale, scale)
        val across = width / scale
        val used = across * if (share <= 1000) share / 1000f else 1000f / share
        painter.fill(canvas, box(0f, 4f, used, 20f), "ink")
        if (share > 1000) {
            canvas.save()
            canvas.clipRect(used, 4f, across, 20f)
            for (x in (used - 16).toInt()..across.toInt() step 8) {
                painter.stroke(canvas, Painter.path("M$x 20L${x + 16} 4"), "ink", 2.4f)
            }
            canvas.restore()
            painter.stroke(canvas, Painter.path("M$used 4L$used 20"), "ink", 4f)
        }
        painter.stroke(canvas, box(1f, 5f, across - 1, 19f), "ink", 2f)
    }
}

/** A rectangle by its corners. */
internal fun box(left: Float, top: Float, right: Float, bottom: Float) =
    Path().apply { addRect(left, top, right, bottom, Path.Direction.CW) }
