package org.boxproof.shell

import android.graphics.Canvas
import android.graphics.DashPathEffect
import android.graphics.Paint
import android.graphics.Path
import android.graphics.Typeface
import android.os.Build
import org.boxproof.core.Anchor
import org.boxproof.core.Coat

/** Puts on coats of paint by role, in dp. What is drawn how is the core's to say. */
internal class Painter(private val look: Look) {
    private val paint = Paint(Paint.ANTI_ALIAS_FLAG or Paint.SUBPIXEL_TEXT_FLAG or Paint.LINEAR_TEXT_FLAG)
    private val medium: Typeface = if (Build.VERSION.SDK_INT >= 28) Typeface.create(Typeface.DEFAULT, 500, false) else Typeface.DEFAULT
    private val paths = HashMap<String, Path>()

    fun draw(canvas: Canvas, coats: List<Coat>) = coats.forEach { coat ->
        when (coat) {
            is Coat.Form -> {
                val path = paths.getOrPut(coat.d) { path(coat.d) }
                coat.fill?.let { fill(canvas, path, it) }
                coat.line?.run { stroke(canvas, path, role, width.toFloat(), dash.map(Double::toFloat).toFloatArray(), round) }
            }
            is Coat.Words -> words(canvas, coat)
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

    private fun words(canvas: Canvas, words: Coat.Words) {
        paint.style = Paint.Style.FILL
        paint.color = look.colour(words.role)
        paint.textSize = words.size.toFloat()
        paint.typeface = if (words.bold) Typeface.DEFAULT_BOLD else medium
        paint.textAlign = when (words.anchor) {
            Anchor.START -> Paint.Align.LEFT
            Anchor.MIDDLE -> Paint.Align.CENTER
            Anchor.END -> Paint.Align.RIGHT
        }
        canvas.drawText(words.text, words.x.toFloat(), words.y.toFloat(), paint)
    }

    companion object {
        private val PIECE = Regex("[MLCZ]|-?[0-9.]+")

        /** A path's text has M, L, C and Z alone, with absolute numbers; each command says its letter. */
        fun path(d: String) = Path().apply {
            var verb = ""
            val at = ArrayDeque<Float>()
            for (piece in PIECE.findAll(d).map { it.value }) {
                if (piece[0].isLetter()) verb = piece else at += piece.toFloat()
                when {
                    verb == "Z" -> close()
                    verb == "M" && at.size == 2 -> moveTo(at.removeFirst(), at.removeFirst())
                    verb == "L" && at.size == 2 -> lineTo(at.removeFirst(), at.removeFirst())
                    verb == "C" && at.size == 6 -> {
                        cubicTo(at[0], at[1], at[2], at[3], at[4], at[5])
                        at.clear()
                    }
                }
            }
        }
    }
}

/** A rectangle by its corners. */
internal fun box(left: Float, top: Float, right: Float, bottom: Float) =
    Path().apply { addRect(left, top, right, bottom, Path.Direction.CW) }
