package org.boxproof.shell

import android.os.Handler
import android.os.Looper
import org.boxproof.core.Notebook
import org.boxproof.core.Refusal
import org.boxproof.core.Screen
import java.io.IOException
import java.util.concurrent.ExecutorService
import java.util.concurrent.Executors

/** What a call of the core came to. */
internal sealed class Answer {
    /** A screen; whether something was noted on the way to it, and the line of what is held, if it was asked for. */
    class Shown(val screen: Screen, val sent: Boolean) : Answer()

    /** A sentence; nothing changed. */
    class Refused(val sentence: String) : Answer()

    /** The notebook could not be opened. */
    class Shut(val trouble: Trouble) : Answer()
}

/** The one core object. Calls run one after another beside the screen; one at a time is taken from the person. */
internal class Book(private val open: () -> Notebook, private val words: (Int) -> String) {
    /** Where calls wait for one another; the tests wait here too. */
    val line: ExecutorService = Executors.newSingleThreadExecutor()
    private val main = Handler(Looper.getMainLooper())
    private var notebook: Notebook? = null
    private var waiting: Answer? = null

    /** A call that the person asked for is running: what is pressed meanwhile is not a second wish. */
    var busy = false
        private set

    /** Who is told; while nobody looks, as when the phone is turned, the answer waits. */
    var eye: ((Answer) -> Unit)? = null
        set(value) {
            field = value
            waiting?.let { answer -> value?.let { waiting = null; it(answer) } }
        }

    /** Asks for a screen; false if a call is running. */
    fun ask(sent: Boolean, call: (Notebook) -> Screen): Boolean {
        if (busy) return false
        busy = true
        line.execute {
            val answer = answer(sent, call)
            main.post {
                busy = false
                eye?.invoke(answer) ?: run { waiting = answer }
            }
        }
        return true
    }

    /** Asks beside what the person does; nothing waits for it, and what fails is not told. */
    fun aside(call: (Notebook) -> Screen, told: (Screen) -> Unit) = line.execute {
        val answer = answer(false, call)
        if (answer is Answer.Shown) main.post { told(answer.screen) }
    }

    private fun answer(sent: Boolean, call: (Notebook) -> Screen): Answer = try {
        val book = notebook ?: open().also { notebook = it }
        Answer.Shown(call(book), sent)
    } catch (refusal: Refusal) {
        val sentence = refusal.message.orEmpty()
        if (notebook == null) Answer.Shut(Trouble(R.string.trouble_notebook, sentence)) else Answer.Refused(sentence)
    } catch (lost: Seed.Lost) {
        Answer.Shut(Trouble(R.string.trouble_key, words(R.string.trouble_key_text), newKey = true, cause = lost))
    } catch (full: IOException) {
        if (notebook != null) Answer.Refused(words(R.string.file_not_taken))
        else Answer.Shut(Trouble(R.string.trouble_disk, words(R.string.trouble_disk_text), cause = full))
    } catch (missing: LinkageError) {
        // The native library is not there, or not for this processor.
        Answer.Shut(Trouble(R.string.trouble_library, words(R.string.trouble_library_text), cause = missing))
    } catch (other: RuntimeException) {
        // The bindings say so when the library is of another build; anything else that broke is told as well.
        if (notebook == null) Answer.Shut(Trouble(R.string.trouble_library, words(R.string.trouble_library_text), cause = other))
        else Answer.Refused(words(R.string.broke))
    }
}
