package org.boxproof.shell

import org.boxproof.core.Pick

/** What a row can ask of the shell. */
internal interface Hands {
    /** Sends a token. */
    fun press(token: String, input: String? = null)

    /** Sends what was typed in the row of this key. */
    fun enter(key: String, token: String, text: String)

    /** Sends what was picked, after asking if it asks. */
    fun pick(pick: Pick)

    /** The way back. */
    fun back()

    /** What was typed in the row of a key, is not what the notebook holds and not yet entered. */
    val typed: MutableMap<String, String>

    /** What the person chose for this phone. */
    val choices: Choices
}
