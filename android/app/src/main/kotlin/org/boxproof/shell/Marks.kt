package org.boxproof.shell

import android.content.Context
import android.graphics.Canvas
import android.graphics.Path
import android.graphics.RectF
import android.view.View
import org.boxproof.core.Edge
import org.boxproof.core.Form
import org.boxproof.core.HandleAt
import org.boxproof.core.Shape

/** A small drawing of the shell itself, of its own size in dp, which follows the text size; width 0 takes what there is. */
internal class Drawn(context: Context, private val look: Look, private val wide: Float, private val high: Float,
    private val sketch: Drawn.(Canvas) -> Unit) : View(context) {
    val painter = Painter(look)
    private val scale = look.rem(1f) / 16f

    override fun onMeasure(widthMeasureSpec: Int, heightMeasureSpec: Int) {
        val width = if (wide > 0) (wide * scale).toInt() else MeasureSpec.getSize(widthMeasureSpec)
        setMeasuredDimension(width, (high * scale).toInt())
    }

    override fun onDraw(canvas: Canvas) {
        canvas.scale(scale, scale)
        sketch(canvas)
    }

    /** The width in the drawing's own units. */
    val across get() = width / scale

    fun rect(canvas: Canvas, x: Float, y: Float, width: Float, height: Float, fill: String?, line: Float = 0f, dash: Float = 0f) {
        val path = Path().apply { addRect(RectF(x, y, x + width, y + height), Path.Direction.CW) }
        fill?.let { painter.fill(canvas, path, it) }
        if (line > 0) painter.stroke(canvas, path, "ink", line, if (dash > 0) floatArrayOf(dash, dash) else FloatArray(0))
    }
}

/** The mark of a state beside a row: a square, outlined as the state is everywhere. */
internal fun mark(look: Look, edge: Edge) = Drawn(look.context, look, 28f, 28f) { canvas ->
    val role = if (edge == Edge.LEFT) "ink" else "paper"
    painter.draw(canvas, Shape(role, edge, Form.Rect(4.0, 4.0, 20.0, if (edge == Edge.STALE) 15.0 else 20.0, 0.0)))
}

/** A handle with its filled half. */
internal fun handle(look: Look, at: HandleAt) = Drawn(look.context, look, 22f, 34f) { canvas ->
    rect(canvas, 1f, 1f, 20f, 32f, null, line = 2f)
    rect(canvas, 4f, if (at.up) 4f else 18f, 14f, 12f, "ink")
}

/** A conductor: its colour in an ink casing. */
internal fun chip(look: Look, colour: String) = Drawn(look.context, look, 26f, 14f) { canvas ->
    when (colour) {
        // Bare copper is not insulated, so it is thinner.
        "bare" -> rect(canvas, 1f, 4.5f, 24f, 5f, colour, line = 1.2f)
        "cloth", "painted", "cannot_tell" -> rect(canvas, 1f, 2f, 24f, 10f, colour, line = 1.6f, dash = 2f)
        "green_yellow" -> {
            rect(canvas, 1f, 2f, 24f, 10f, "green", line = 1.6f)
            painter.stroke(canvas, Painter.path("M6 11L10 3M16 11L20 3"), "yellow", 3f)
        }
        else -> rect(canvas, 1f, 2f, 24f, 10f, colour, line = 1.6f)
    }
}

/** A used share with its limit. Over the limit the limit's line stands inside, and what is beyond it is hatched. */
internal fun bar(look: Look, share: Long) = Drawn(look.context, look, 0f, 20f) { canvas ->
    val used = across * if (share <= 1000) share / 1000f else 1000f / share
    rect(canvas, 0f, 4f, used, 16f, "ink")
    if (share > 1000) {
        canvas.save()
        canvas.clipRect(used, 4f, across, 20f)
        var x = used - 16
        while (x < across) {
            painter.stroke(canvas, Path().apply { moveTo(x, 20f); lineTo(x + 16, 4f) }, "ink", 2.4f)
            x += 8
        }
        canvas.restore()
        painter.stroke(canvas, Path().apply { moveTo(used, 4f); lineTo(used, 20f) }, "ink", 4f)
    }
    rect(canvas, 1f, 5f, across - 2, 14f, null, line = 2f)
}
