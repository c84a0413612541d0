package org.boxproof.shell

import java.io.File

/** The demo job at one of its moments, played once for a run by the desk program and then copied. */
internal object Demo {
    private val played = File("target/demo")
    private val program = System.getProperty("boxproof.program") ?: error("boxproof.program says where the desk program is")

    /** Lays the demo's notebook where the app looks for it, and gives the app the demo's own hand. */
    fun lay(app: ShellApplication, moment: String) {
        folder(moment).copyRecursively(app.folder)
        val secret = app.folder.listFiles().orEmpty().single { it.isFile && it.length() == 32L }
        app.seed.keep(secret.readBytes())
        secret.delete()
    }

    /** The notebook as it was played; nobody writes in it. */
    fun folder(moment: String): File {
        // Another build of the program plays it anew.
        val from = File(played, "$moment-${File(program).lastModified()}")
        synchronized(this) { if (!from.exists()) play(from, moment) }
        return from
    }

    private fun play(to: File, moment: String) {
        val beside = File(played, "${to.name}.part").also { it.deleteRecursively(); it.parentFile.mkdirs() }
        val run = ProcessBuilder(program, "demo", beside.path, "--until", moment).redirectErrorStream(true).start()
        val said = run.inputStream.bufferedReader().readText()
        check(run.waitFor() == 0) { said }
        check(beside.renameTo(to))
    }
}
