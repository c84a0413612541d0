package org.boxproof.shell

import android.app.Application
import org.boxproof.core.Notebook
import org.boxproof.core.Outside
import org.boxproof.core.Wall
import java.io.File
import java.security.SecureRandom
import java.util.TimeZone
import javax.crypto.SecretKey

/** Holds the one notebook, so that a turned phone finds it again. */
open class ShellApplication : Application(), Outside {
    /** The notebook lies in app-private storage that no backup takes along. */
    internal val folder get() = File(noBackupFilesDir, "notebook")
    internal val seed by lazy { Seed(File(noBackupFilesDir, "seed"), ::key) }
    private val opened by lazy(::makeBook)
    internal open val book get() = opened

    internal fun makeBook() = Book({ Notebook.open(folder.path, seed.bytes(), this) }, ::getString)

    /** What wraps the secret bytes. */
    protected open fun key(): SecretKey = Seed.keystore()

    override fun now(): Wall {
        val now = System.currentTimeMillis()
        return Wall(now, (TimeZone.getDefault().getOffset(now) / 60_000).toShort())
    }

    override fun random() = ByteArray(16).also { SecureRandom().nextBytes(it) }
}
