package org.boxproof.shell

import android.content.Context
import android.graphics.Typeface
import android.graphics.drawable.Drawable
import android.graphics.drawable.GradientDrawable
import android.graphics.drawable.StateListDrawable
import android.os.Build
import android.util.TypedValue
import android.view.View
import android.view.ViewGroup
import android.widget.TextView
import kotlin.math.roundToInt

internal const val MATCH = ViewGroup.LayoutParams.MATCH_PARENT
internal const val WRAP = ViewGroup.LayoutParams.WRAP_CONTENT

/** The look of this build. Colours and sizes are resources that were made from the tokens of the look. */
internal class Look(val context: Context) {
    private val resources = context.resources
    private val roles: Map<String, Int>

    /** Above this the rows grow, columns fold and the places of a picture stand as a list. */
    val large = resources.configuration.fontScale > 1.3f

    init {
        val colours = resources.obtainTypedArray(R.array.role_colours)
        roles = resources.getStringArray(R.array.roles).withIndex().associate { (n, role) -> role to colours.getColor(n, 0) }
        colours.recycle()
    }

    fun colour(role: String) = roles[role] ?: context.getColor(R.color.paper)

    fun dp(value: Float) = value * resources.displayMetrics.density
    fun dp(value: Int) = dp(value.toFloat()).roundToInt()
    fun px(dimen: Int) = resources.getDimensionPixelSize(dimen)

    /** A length that follows the text size, in pixels. Multiplied afterwards: newer phones enlarge large sizes less. */
    fun rem(value: Float) = (value * TypedValue.applyDimension(TypedValue.COMPLEX_UNIT_SP, 16f, resources.displayMetrics)).roundToInt()

    /** Without a style: what a style would add is drawn here. */
    fun words(said: CharSequence, size: Int, colour: Int = R.color.ink, weight: Int = 400) = dress(TextView(context), said, size, colour, weight)

    fun <T : TextView> dress(view: T, said: CharSequence, size: Int, colour: Int, weight: Int): T = view.apply {
        text = said
        setTextSize(TypedValue.COMPLEX_UNIT_PX, resources.getDimension(size))
        setTextColor(context.getColor(colour))
        typeface = weighted(weight)
        // Figures stand under one another.
        fontFeatureSettings = "tnum"
        // Without this, Latin text stays on the left of a right-to-left page.
        textAlignment = View.TEXT_ALIGNMENT_VIEW_START
        includeFontPadding = false
        setLineSpacing(0f, 1.08f)
    }

    fun frame(colour: Int, width: Float, inside: Int = R.color.paper, dash: Boolean = false) = GradientDrawable().apply {
        setColor(context.getColor(inside))
        val breaks = if (dash) dp(5f) else 0f
        setStroke(dp(width).roundToInt(), context.getColor(colour), breaks, breaks / 2)
    }

    /** What a press looks like, and a frame round what the keyboard is on. */
    fun pressed(view: View, resting: Drawable?) = view.apply {
        background = StateListDrawable().apply {
            addState(intArrayOf(android.R.attr.state_pressed), frame(R.color.act, 2f, R.color.pale))
            resting?.let { addState(intArrayOf(), it) }
        }
        foreground = StateListDrawable().apply {
            val ring = GradientDrawable().apply { setStroke(dp(4), context.getColor(R.color.ink)) }
            addState(intArrayOf(android.R.attr.state_focused), ring)
        }
        isFocusable = true
        isClickable = true
    }

    companion object {
        fun weighted(weight: Int): Typeface = when {
            weight < 500 -> Typeface.DEFAULT
            Build.VERSION.SDK_INT >= 28 -> Typeface.create(Typeface.DEFAULT, weight, false)
            weight < 600 -> Typeface.DEFAULT
            else -> Typeface.DEFAULT_BOLD
        }
    }
}
