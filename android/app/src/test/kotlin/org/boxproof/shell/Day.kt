package org.boxproof.shell

/** Plays work written as touches; tests/thumb/first-visit.txt says how its lines are read. */
internal class Day(private val thumb: Thumb) {
    /** Plays a script; `before` is told the number of each line that is about to be played. */
    fun play(script: String, before: (Int) -> Unit = {}) {
        for ((n, line) in script.lines().map(String::trim).withIndex()) {
            if (line == "end") return
            if (line.isEmpty() || line.startsWith("#")) continue
            before(n + 1)
            val (verb, rest) = line.split(' ', limit = 2) + listOf("")
            try {
                step(verb, rest)
            } catch (stuck: AssertionError) {
                throw AssertionError("line ${n + 1}, $line: ${stuck.message}", stuck)
            }
        }
    }

    private fun step(verb: String, rest: String) {
        val (first, second) = rest.split(" | ", limit = 2) + listOf("")
        when (verb) {
            "day" -> Unit
            "at" -> thumb.app.clock = thumb.app.clock?.let { it.withHour(rest.take(2).toInt()).withMinute(rest.takeLast(2).toInt()) }
            "press" -> thumb.press(rest)
            "type" -> thumb.type(first, second)
            "choose" -> thumb.choose(first, second)
            "fill" -> thumb.fill(first, second)
            "enter" -> thumb.enter(rest)
            "touch" -> thumb.touch(rest)
            "front" -> thumb.front()
            "shows" -> check(rest in thumb.read()) { "not shown: $rest" }
            else -> error("$verb is no touch")
        }
        thumb.refusal?.let { throw AssertionError("refused: $it") }
    }
}
