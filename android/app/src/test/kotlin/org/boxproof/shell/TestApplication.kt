package org.boxproof.shell

import java.io.File
import javax.crypto.KeyGenerator
import javax.crypto.SecretKey
import javax.crypto.spec.SecretKeySpec

/**
 * The application of the tests. The JVM has no phone's keystore, so the key that wraps the seed lies in a file; it is a
 * real AES key all the same. What the real keystore does is for a phone to show (android/README.md).
 */
class TestApplication : ShellApplication() {
    override fun key(): SecretKey {
        val file = File(filesDir, "test-key")
        if (!file.exists()) file.writeBytes(KeyGenerator.getInstance("AES").apply { init(256) }.generateKey().encoded)
        return SecretKeySpec(file.readBytes(), "AES")
    }
}
