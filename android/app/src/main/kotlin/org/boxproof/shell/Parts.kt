package org.boxproof.shell

import android.view.LayoutInflater
import android.view.View
import android.view.ViewGroup
import android.widget.TextView

/** A part of a layout by its id, and what it says. */
internal typealias Words = Pair<Int, CharSequence?>

internal fun <V : View> View.part(id: Int): V = checkNotNull(findViewById<V>(id))

/** Whether a view takes room. */
internal var View.shown: Boolean
    get() = visibility == View.VISIBLE
    set(value) { visibility = if (value) View.VISIBLE else View.GONE }

/** Puts words into a part of a layout; a part without words takes no room. */
internal fun View.put(id: Int, words: CharSequence?): TextView = part<TextView>(id).apply {
    text = words
    shown = !words.isNullOrEmpty()
}

internal fun View.put(vararg words: Words) = words.forEach { (id, said) -> put(id, said) }

/** What is done when a part of a layout is pressed. */
internal fun View.pressed(id: Int, act: () -> Unit) = part<View>(id).setOnClickListener { act() }

/** A view of a layout, not yet added here; what the layout says of its place here holds. */
internal inline fun <reified V : View> ViewGroup.inflated(layout: Int) = LayoutInflater.from(context).inflate(layout, this, false) as V

internal inline fun <reified V : View> ViewGroup.add(layout: Int, at: Int = -1) = inflated<V>(layout).also { addView(it, at) }
