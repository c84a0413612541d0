package org.boxproof.shell

import android.content.Context

/** Choices that are the shell's own: they are kept on this phone and never reach the notebook. */
class Choices internal constructor(context: Context) {
    private val kept = context.getSharedPreferences("choices", Context.MODE_PRIVATE)

    operator fun get(name: String): String = kept.getString(name, null) ?: OPTIONS.getValue(name).first()

    operator fun set(name: String, value: String) = kept.edit().putString(name, value).apply()

    val leftHand get() = this["hand"] == "left"
    val ownKeys get() = this["keys"] == "own"
    val listed get() = this["list"] == "yes"

    companion object {
        /** The first of each holds until something was chosen. */
        internal val OPTIONS = mapOf(
            "light" to listOf("system", "noon", "cellar"),
            "hand" to listOf("right", "left"),
            "keys" to listOf("own", "device"),
            "list" to listOf("no", "yes"),
        )
    }
}
