package org.boxproof.shell

import android.security.keystore.KeyGenParameterSpec
import android.security.keystore.KeyProperties
import java.io.File
import java.io.IOException
import java.security.GeneralSecurityException
import java.security.KeyStore
import java.security.ProviderException
import java.security.SecureRandom
import javax.crypto.Cipher
import javax.crypto.KeyGenerator
import javax.crypto.SecretKey
import javax.crypto.spec.GCMParameterSpec

/**
 * The 32 secret bytes that entries are signed with. On the disk they are wrapped by a key that the phone's keystore keeps
 * and never gives out; what is wrapped elsewhere, or was changed, does not open.
 */
internal class Seed(private val file: File, private val key: () -> SecretKey) {
    /** The wrapped bytes are there and do not open. */
    class Lost(why: Throwable) : Exception(why)

    /** The bytes, made at the first call. */
    fun bytes(): ByteArray = try {
        if (file.exists()) opened(file.readBytes()) else ByteArray(LENGTH).also(SecureRandom()::nextBytes).also(::keep)
    } catch (why: GeneralSecurityException) {
        throw Lost(why)
    } catch (why: ProviderException) {
        throw Lost(why)
    } catch (why: IllegalArgumentException) {
        // Shorter than any that was ever written.
        throw Lost(why)
    }

    private fun opened(kept: ByteArray): ByteArray {
        val cipher = Cipher.getInstance(AES)
        cipher.init(Cipher.DECRYPT_MODE, key(), GCMParameterSpec(TAG_BITS, kept.copyOf(NONCE)))
        return cipher.doFinal(kept, NONCE, kept.size - NONCE)
    }

    /** Wraps bytes and writes them beside, then under the name: half a file never has the name of a whole one. */
    fun keep(bytes: ByteArray) {
        val cipher = Cipher.getInstance(AES)
        cipher.init(Cipher.ENCRYPT_MODE, key())
        val beside = File(file.path + ".part")
        file.parentFile?.mkdirs()
        beside.outputStream().use { it.write(cipher.iv + cipher.doFinal(bytes)); it.fd.sync() }
        if (!beside.renameTo(file)) throw IOException("${file.name} could not be named")
    }

    /** Puts what does not open aside, so that the next call makes a new one; it is not deleted. */
    fun setAside() = file.renameTo(File("${file.path}.${System.currentTimeMillis()}.old"))

    companion object {
        private const val AES = "AES/GCM/NoPadding"
        private const val LENGTH = 32
        private const val NONCE = 12
        private const val TAG_BITS = 128
        private const val NAME = "seed"

        /** The phone's own key, made at the first call; it never leaves the keystore. */
        fun keystore(): SecretKey {
            val store = KeyStore.getInstance("AndroidKeyStore").apply { load(null) }
            (store.getKey(NAME, null) as? SecretKey)?.let { return it }
            val purpose = KeyProperties.PURPOSE_ENCRYPT or KeyProperties.PURPOSE_DECRYPT
            val spec = KeyGenParameterSpec.Builder(NAME, purpose).setBlockModes(KeyProperties.BLOCK_MODE_GCM)
                .setEncryptionPaddings(KeyProperties.ENCRYPTION_PADDING_NONE).setKeySize(256).build()
            return KeyGenerator.getInstance(KeyProperties.KEY_ALGORITHM_AES, "AndroidKeyStore").apply { init(spec) }.generateKey()
        }
    }
}
