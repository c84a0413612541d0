package org.boxproof.shell

import android.os.Bundle

/** The way back, and for each screen on it where the person was and what was typed and not yet entered. */
internal class Way {
    /** One screen on the way. */
    private class Stop(val address: String) {
        var place: Pair<String, Int>? = null
        val typed = HashMap<String, String>()
    }

    private val stops = ArrayList<Stop>()
    private val here get() = stops.lastOrNull()

    val address get() = here?.address.orEmpty()
    val before get() = stops.getOrNull(stops.size - 2)?.address
    val typed: MutableMap<String, String> get() = here?.typed ?: HashMap()
    var place: Pair<String, Int>?
        get() = here?.place
        set(value) { here?.place = value }

    /** Each screen stands on it once: who comes to one that is on the way has gone back to it. */
    fun walk(address: String) {
        val at = stops.indexOfFirst { it.address == address }
        if (at < 0) stops += Stop(address) else while (stops.size > at + 1) stops.removeAt(stops.lastIndex)
    }

    fun save(to: Bundle) {
        to.putStringArrayList("way", ArrayList(stops.map { it.address }))
        stops.forEachIndexed { n, stop ->
            stop.place?.let { (key, by) -> to.putString("place $n", key); to.putInt("by $n", by) }
            to.putStringArray("typed $n", stop.typed.flatMap { listOf(it.key, it.value) }.toTypedArray())
        }
    }

    fun restore(from: Bundle) {
        from.getStringArrayList("way").orEmpty().forEachIndexed { n, address ->
            val stop = Stop(address).also(stops::add)
            stop.place = from.getString("place $n")?.let { it to from.getInt("by $n") }
            from.getStringArray("typed $n").orEmpty().toList().chunked(2).forEach { (key, text) -> stop.typed[key] = text }
        }
    }
}
