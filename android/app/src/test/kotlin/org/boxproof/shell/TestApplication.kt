package org.boxproof.shell

import org.boxproof.core.Wall
import java.io.File
import java.time.OffsetDateTime
import javax.crypto.KeyGenerator
import javax.crypto.SecretKey
import javax.crypto.spec.SecretKeySpec

/**
 * The application of the tests. The JVM has no phone's keystore, so the key that wraps the seed lies in a file; it is a
 * real AES key all the same. What the real keystore does is for a phone to show (android/README.md).
 */
open class TestApplication : ShellApplication() {
    /** The time of the demo job, where a test plays in it; a second passes with each look at the clock. */
    var clock: OffsetDateTime? = null

    /** Forgets the open notebook, as a process that ended would; its folder stays. */
    fun startAnew() { anew = makeBook() }

    private var anew: Book? = null
    override val book get() = anew ?: super.book

    override fun now(): Wall {
        val then = clock ?: return super.now()
        clock = then.plusSeconds(1)
        return Wall(then.toInstant().toEpochMilli(), (then.offset.totalSeconds / 60).toShort())
    }

    override fun key(): SecretKey {
        val file = File(filesDir, "test-key")
        if (!file.exists()) file.writeBytes(KeyGenerator.getInstance("AES").apply { init(256) }.generateKey().encoded)
        return SecretKeySpec(file.readBytes(), "AES")
    }
}
