package org.boxproof.shell

import android.content.Context
import org.boxproof.core.Body
import org.boxproof.core.FileOut
import org.boxproof.core.Pick
import org.boxproof.core.Row
import org.boxproof.core.Screen

/** Rows of the shell's own, shown like any other. Their tokens begin with what no token of the core holds. */
internal class Own(private val context: Context, private val choices: Choices) {
    /** What can be done with a file that a screen hands out. */
    fun file(file: FileOut): List<Row> = buildList {
        add(leading("file", context.getString(R.string.share), file.name, "$MARK share"))
        if (file.media == "text/html") add(leading("print", context.getString(R.string.print), file.name, "$MARK print"))
    }

    /** Choices that are kept on this phone; folded away until asked for. */
    fun settings(open: Boolean): List<Row> = buildList {
        add(leading("settings", context.getString(R.string.settings), "", "$MARK settings"))
        if (open) for ((name, label, words) in GROUPS) {
            val texts = context.resources.getStringArray(words)
            val picks = Choices.OPTIONS.getValue(name).mapIndexed { n, option ->
                Pick(texts[n], "", choices[name] == option, "$MARK $name $option", null)
            }
            add(row("settings $name", Body.Choice(context.getString(label), picks)))
        }
    }

    /** A screen for when the notebook is shut. */
    fun shut(trouble: Trouble): Screen {
        val title = context.getString(trouble.title)
        val again = Pick(context.getString(R.string.again), "", false, "$MARK again", null)
        val fresh = Pick(context.getString(R.string.new_key), "", false, "$MARK new-key", null)
        val rows = listOf(
            row("why", Body.Notice(false, title, trouble.text, null), "$title. ${trouble.text}"),
            row("deeds", Body.Deeds(false, again, if (trouble.newKey) listOf(fresh) else emptyList())),
        )
        return Screen("", context.getString(R.string.app_name), title, null, 0uL, rows, null, null, null)
    }

    private fun leading(key: String, title: String, second: String, token: String) =
        row(key, Body.Item(null, title, second, ""), listOf(title, second).filter(String::isNotEmpty).joinToString(", "), token)

    private fun row(key: String, body: Body, spoken: String = "", go: String? = null) = Row("$MARK $key", null, false, spoken, null, go, body)

    companion object {
        const val MARK = "\u0000"
        private val GROUPS = listOf(
            Triple("light", R.string.light, R.array.light),
            Triple("hand", R.string.hand, R.array.hand),
            Triple("keys", R.string.keys, R.array.keys),
        )
    }
}
