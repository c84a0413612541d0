package org.boxproof.shell

import org.boxproof.core.FfiConverterString
import org.boxproof.core.FfiConverterTypeScreen
import org.boxproof.core.Notebook
import org.boxproof.core.Outside
import org.boxproof.core.RustBuffer
import org.boxproof.core.Screen
import org.boxproof.core.Sent
import org.boxproof.core.UniffiLib
import org.boxproof.core.UniffiRustCallStatus
import org.boxproof.core.Wall
import org.junit.Test
import java.nio.file.Files

/**
 * What the border costs for a screen of 60 rows, and one act with it. The named reference of the same run is the whole
 * call: the core's own work on that screen and the border together.
 *
 * A benchmark, not a test: its name is none that the build runs by itself. See android/README.md for the command.
 */
class BorderBench {
    @Test fun `a screen of 60 boxes`() {
        val folder = Files.createTempDirectory("border").toFile()
        try {
            Notebook.open(folder.path, ByteArray(32) { 7 }, Steps()).use { measure(it) }
        } finally {
            folder.deleteRecursively()
        }
    }

    private fun measure(book: Notebook) {
        val front = house(book)
        val whole = median { book.screen(front.address) }
        // The same without making Kotlin's records of it: the core, the lowering in Rust, and the call itself.
        val raw = median { freed(call(book, front.address)) }
        // Kotlin's own lowering of the same screen stands in for Rust's, which is not slower.
        val lowering = median { freed(FfiConverterTypeScreen.lower(front)) }
        val calling = median { freed(UniffiLib.ffi_boxproof_phone_rustbuffer_alloc(SIZE, UniffiRustCallStatus())) }
        val bytes = FfiConverterTypeScreen.lower(front).also { size = it.len }.let(::freed).let { size }
        val border = whole - raw + lowering + calling
        val act = acts(book)
        println("a screen of ${front.rows.size} rows, $bytes bytes over the border; medians in milliseconds")
        line("the whole call (reference)", whole, whole)
        line("  of it at most the border", border, whole)
        line("    making Kotlin's records", whole - raw, whole)
        line("    writing and reading as bytes", lowering, whole)
        line("    calling", calling, whole)
        line("an act, to disk and its next screen", act, whole)
    }

    private var size = 0L

    private fun line(what: String, ms: Double, reference: Double) =
        println("  %-38s %8.3f   %6.3f × the reference".format(what, ms, ms / reference))

    private fun call(book: Notebook, address: String) = book.callWithHandle { handle ->
        UniffiLib.uniffi_boxproof_phone_fn_method_notebook_screen(handle, FfiConverterString.lower(address), UniffiRustCallStatus())
    }

    private fun freed(buffer: RustBuffer.ByValue) = RustBuffer.free(buffer)

    /** Sixty boxes in a chain from a panel, as the front page lists them. */
    private fun house(book: Notebook): Screen {
        var shown = book.send(Sent("site name=Hilltop", null, 0u))
        val site = Regex("site=(\\S+)").find(shown.address)!!.groupValues[1].trimEnd('"')
        fun note(line: String) {
            shown = book.send(Sent("$line site=$site", null, shown.drawn))
        }
        note("person name=\"A. Marsh\"")
        note("job name=Porch edition=2020")
        note("arrive \"A. Marsh\" job=Porch")
        note("box tag=P location=cellar kind=panel system=split_phase")
        note("device P:7 kind=breaker-1p-15 number=7 leg=a")
        for (n in 1..BOXES) {
            note("box tag=B$n location=\"room $n\" kind=nonmetallic-1g volume=20.3")
            val (to, feed) = if (n == 1) "P" to " feed=P:7" else "B${n - 1}/B" to ""
            note("run B$n/A to=$to kind=nm-14-2 length=\"12 ft\"$feed")
        }
        return book.screen("job site=$site")
    }

    /** One box's label after another is noted, each to the front page. */
    private fun acts(book: Notebook): Double {
        val site = Regex("site=(\\S+)").find(book.screen("").rows.first { it.go != null }.go!!)!!.groupValues[1].trimEnd('"', ')')
        var shown = book.screen("job site=$site")
        var n = 0
        return median {
            n = n % BOXES + 1
            shown = book.send(Sent("label B$n/A/black \"TEXT $n\" site=$site then=\"job site=$site\"", null, shown.drawn))
        }
    }

    private fun median(work: () -> Unit): Double {
        repeat(WARM) { work() }
        val times = LongArray(TIMES) { System.nanoTime().let { begun -> work(); System.nanoTime() - begun } }
        return times.sorted()[TIMES / 2] / 1e6
    }

    /** A clock and bytes that a benchmark can repeat. */
    private class Steps : Outside {
        private var n = 0L
        override fun now() = Wall(1_780_000_000_000 + 1000 * n++, (-300).toShort())
        override fun random() = ByteArray(16) { at -> (n++ * 31 + at).toByte() }
    }

    private companion object {
        const val BOXES = 60
        const val WARM = 200
        const val TIMES = 201
        const val SIZE = 64L
    }
}
