package org.boxproof.shell

import android.graphics.Canvas
import android.graphics.DashPathEffect
import android.graphics.Paint
import android.graphics.Path
import android.graphics.RectF
import org.boxproof.core.Anchor
import org.boxproof.core.Edge
import org.boxproof.core.Form
import org.boxproof.core.Shape

/**
 * Draws shapes by role and state, in dp. Read as the core's own SVG reads them: a line, or a path that is not filled, is
 * drawn in its role's colour, broken as its state says; what has an inside is filled, and outlined by its state's stroke.
 * A role that nobody knows is paper with an ink outline, so that nothing vanishes.
 */
internal class Painter(private val look: Look) {
    private val paint = Paint(Paint.ANTI_ALIAS_FLAG or Paint.SUBPIXEL_TEXT_FLAG or Paint.LINEAR_TEXT_FLAG)

    fun draw(canvas: Canvas, shape: Shape) {
        val known = look.knows(shape.role)
        val role = if (known) shape.role else "paper"
        val edge = shape.edge ?: if (known) null else Edge.FOUND
        when (val form = shape.form) {
            is Form.Line -> lined(canvas, polyline(form), role, form.width.toFloat(), edge)
            is Form.Path -> if (form.filled) filled(canvas, path(form.d), role, edge)
            else lined(canvas, path(form.d), role, form.width.toFloat(), edge)
            is Form.Rect -> form.run { boxed(canvas, rect(x, y, width, height), round.toFloat(), role, edge) }
            is Form.Circle -> form.run {
                boxed(canvas, rect(x - radius, y - radius, 2 * radius, 2 * radius), radius.toFloat(), role, edge)
            }
            is Form.Words -> words(canvas, form, role)
        }
    }

    fun fill(canvas: Canvas, path: Path, role: String) {
        paint.style = Paint.Style.FILL
        paint.color = look.colour(role)
        canvas.drawPath(path, paint)
    }

    fun stroke(canvas: Canvas, path: Path, role: String, width: Float, dash: FloatArray = FloatArray(0), round: Boolean = false) {
        paint.style = Paint.Style.STROKE
        paint.color = look.colour(role)
        paint.strokeWidth = width
        paint.strokeCap = if (round) Paint.Cap.ROUND else Paint.Cap.BUTT
        paint.pathEffect = if (dash.isEmpty()) null else DashPathEffect(dash, 0f)
        canvas.drawPath(path, paint)
        paint.pathEffect = null
    }

    private fun boxed(canvas: Canvas, at: RectF, round: Float, role: String, edge: Edge?) = when (edge) {
        Edge.DISAGREES -> halves(canvas, at, round, role)
        Edge.STALE -> filled(canvas, toothed(at), role, edge)
        else -> filled(canvas, Path().apply { addRoundRect(at, round, round, Path.Direction.CW) }, role, edge)
    }

    private fun filled(canvas: Canvas, path: Path, role: String, edge: Edge?) {
        fill(canvas, path, role)
        if (edge == null) return
        val stroke = look.stroke(edge)
        // A toothed foot already tells; breaking its line as well would hide it.
        val dash = if (edge == Edge.STALE) FloatArray(0) else stroke.drop(1).toFloatArray()
        stroke(canvas, path, ink(role), stroke[0], dash, round = true)
        if (edge == Edge.UNCHECKED) stroke(canvas, path, role, 1.6f, round = true)
    }

    private fun lined(canvas: Canvas, path: Path, role: String, width: Float, edge: Edge?) {
        stroke(canvas, path, role, width, look.dash(edge), edge == Edge.UNKNOWN)
        if (edge == Edge.UNCHECKED) stroke(canvas, path, "strip", width * 0.35f)
    }

    /** Two halves, shifted, the first filled. */
    private fun halves(canvas: Canvas, at: RectF, round: Float, role: String) {
        val half = at.width() / 2 - 1.5f
        val shift = at.height() * 0.15f
        val bend = round.coerceAtMost(minOf(half, at.height() / 2))
        val first = RectF(at.left, at.top - shift, at.left + half, at.bottom - shift)
        val second = RectF(at.right - half, at.top + shift, at.right, at.bottom + shift)
        val left = floatArrayOf(bend, bend, 0f, 0f, 0f, 0f, bend, bend)
        val right = floatArrayOf(0f, 0f, bend, bend, bend, bend, 0f, 0f)
        fill(canvas, Path().apply { addRoundRect(first, left, Path.Direction.CW) }, ink(role))
        val rest = Path().apply { addRoundRect(second, right, Path.Direction.CW) }
        fill(canvas, rest, role)
        stroke(canvas, rest, ink(role), 2.4f)
    }

    private fun words(canvas: Canvas, form: Form.Words, role: String) {
        paint.style = Paint.Style.FILL
        paint.color = look.colour(role)
        paint.textSize = form.size.toFloat()
        paint.typeface = Look.weighted(if (form.bold) 700 else 500)
        paint.textAlign = when (form.anchor) {
            Anchor.START -> Paint.Align.LEFT
            Anchor.MIDDLE -> Paint.Align.CENTER
            Anchor.END -> Paint.Align.RIGHT
        }
        canvas.drawText(form.text, form.x.toFloat(), form.y.toFloat(), paint)
    }

    /** Outlines of what borders on paper follow the theme; inside a picture ink is ink. */
    private fun ink(role: String) = if (role in listOf("paper", "pale", "block", "tray")) "ink" else "picture_ink"

    private fun rect(x: Double, y: Double, width: Double, height: Double) =
        RectF(x.toFloat(), y.toFloat(), (x + width).toFloat(), (y + height).toFloat())

    private fun polyline(form: Form.Line) = Path().apply {
        form.points.forEachIndexed { n, at ->
            if (n == 0) moveTo(at.x.toFloat(), at.y.toFloat()) else lineTo(at.x.toFloat(), at.y.toFloat())
        }
    }

    companion object {
        private val PIECE = Regex("[MLCZz]|-?[0-9.]+")

        /** A path's text has M, L, C and Z alone, with absolute numbers. */
        fun path(d: String) = Path().apply {
            var verb = "M"
            val at = ArrayDeque<Float>()
            for (piece in PIECE.findAll(d).map { it.value }) {
                if (piece[0].isLetter()) verb = piece else piece.toFloatOrNull()?.let(at::add)
                when {
                    verb.equals("Z", ignoreCase = true) -> close()
                    verb == "M" && at.size == 2 -> { moveTo(at[0], at[1]); at.clear(); verb = "L" }
                    verb == "L" && at.size == 2 -> { lineTo(at[0], at[1]); at.clear() }
                    verb == "C" && at.size == 6 -> { cubicTo(at[0], at[1], at[2], at[3], at[4], at[5]); at.clear() }
                }
            }
        }

        /** A rectangle with a toothed foot. */
        fun toothed(at: RectF) = Path().apply {
            moveTo(at.left, at.bottom)
            lineTo(at.left, at.top)
            lineTo(at.right, at.top)
            lineTo(at.right, at.bottom)
            for (n in 1..8) lineTo(at.right - at.width() / 8 * n, at.bottom + if (n % 2 == 1) 6 else 0)
            close()
        }
    }
}
