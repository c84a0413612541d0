package org.boxproof.shell

import android.content.Context
import android.util.TypedValue
import kotlin.math.roundToInt

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

    fun rem(value: Float) = context.rem(value)
}

/** A length that follows the text size, in pixels. Multiplied afterwards: newer phones enlarge large sizes less. */
internal fun Context.rem(value: Float) =
    (value * TypedValue.applyDimension(TypedValue.COMPLEX_UNIT_SP, 16f, resources.displayMetrics)).roundToInt()
