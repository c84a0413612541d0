package org.boxproof.shell

import android.content.Context
import android.net.Uri
import java.io.File
import java.io.IOException

/** Copies a file of another app to where the core can read it. */
internal object TakeIn {
    private const val LARGEST = 64L * 1024 * 1024

    /** Copies to app-private cache, gives the path to `use`, and leaves nothing behind. */
    fun <T> copied(context: Context, uri: Uri, use: (String) -> T): T {
        val file = File.createTempFile("taken", ".jsonl", context.cacheDir)
        try {
            val from = try {
                context.contentResolver.openInputStream(uri)
            } catch (closed: SecurityException) {
                throw IOException("the other app no longer allows it", closed)
            } ?: throw IOException("the other app gave nothing")
            from.use { input ->
                file.outputStream().use { output ->
                    val piece = ByteArray(65_536)
                    var size = 0L
                    generateSequence { input.read(piece).takeIf { it >= 0 } }.forEach { read ->
                        size += read
                        if (size > LARGEST) throw IOException("larger than $LARGEST bytes")
                        output.write(piece, 0, read)
                    }
                }
            }
            return use(file.path)
        } finally {
            file.delete()
        }
    }
}
