package org.boxproof.shell

import java.io.File

/** The demo job at one of its moments, played once for a run by the desk program and then copied. */
internal object Demo {
    private val played = File("target/demo")

    /** Lays the demo's notebook where the app looks for it, and gives the app the demo's own hand. */
    fun lay(app: ShellApplication, moment: String) {
        val from = File(played, moment)
        synchronized(this) { if (!from.exists()) play(from, moment) }
        from.copyRecursively(app.folder)
        val secret = app.folder.listFiles().orEmpty().single { it.isFile && it.length() == 32L }
        app.seed.keep(secret.readBytes())
        secret.delete()
    }

    private fun play(to: File, moment: String) {
        val beside = File(played, "$moment.part").also { it.deleteRecursively(); it.parentFile.mkdirs() }
        val program = System.getProperty("boxproof.program") ?: error("boxproof.program says where the desk program is")
        val run = ProcessBuilder(program, "demo", beside.path, "--until", moment).redirectErrorStream(true).start()
        val said = run.inputStream.bufferedReader().readText()
        check(run.waitFor() == 0) { said }
        check(beside.renameTo(to))
    }
}
