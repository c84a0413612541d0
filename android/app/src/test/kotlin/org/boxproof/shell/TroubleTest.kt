package org.boxproof.shell

import com.sun.jna.Memory
import com.sun.jna.NativeLibrary
import org.boxproof.core.Notebook
import org.junit.Assert.assertArrayEquals
import org.junit.Assert.assertEquals
import org.junit.Assert.assertFalse
import org.junit.Assert.assertThrows
import org.junit.Assert.assertTrue
import org.junit.Test
import org.junit.runner.RunWith
import org.robolectric.RobolectricTestRunner
import org.robolectric.RuntimeEnvironment
import org.robolectric.annotation.Config
import java.io.File
import java.nio.ByteBuffer
import java.nio.ByteOrder
import java.time.OffsetDateTime
import javax.crypto.KeyGenerator

/** An app whose native library is not there. */
class WithoutLibrary : TestApplication() {
    private val shut = Book({ System.load("/nowhere/libboxproof_phone.so"); Notebook.open("", ByteArray(0), this) }, ::getString)
    override val book get() = shut
}

/** An app whose native library is for another processor. */
class WithOtherLibrary : TestApplication() {
    private val other by lazy { File(filesDir, "libboxproof_phone.so").also { it.writeBytes(foreign()) } }
    private val shut by lazy { Book({ System.load(other.path); Notebook.open("", ByteArray(0), this) }, ::getString) }
    override val book get() = shut

    /** The heads of an ELF file for ppc64, with a stack that runs no code, as the ELF specification lays them out. */
    private fun foreign() = ByteBuffer.allocate(120).order(ByteOrder.LITTLE_ENDIAN).apply {
        put(byteArrayOf(0x7f, 'E'.code.toByte(), 'L'.code.toByte(), 'F'.code.toByte(), 2, 1, 1))
        putShort(16, 3).putShort(18, 21).putInt(20, 1).putLong(32, 64).putShort(52, 64).putShort(54, 56).putShort(56, 1)
        putInt(64, 0x6474e551).putInt(68, 6)
    }.array()
}

/** What goes wrong is a readable screen that says what was kept and what to do. */
@RunWith(RobolectricTestRunner::class)
class TroubleTest {
    private val app get() = RuntimeEnvironment.getApplication() as TestApplication

    @Test @Config(application = WithoutLibrary::class)
    fun `a missing library`() = noLibrary()

    @Test @Config(application = WithOtherLibrary::class)
    fun `a wrong library`() = noLibrary()

    private fun noLibrary() {
        val thumb = Thumb()
        val read = thumb.read()
        assertTrue(read, thumb.activity.getString(R.string.trouble_library_text) in read)
        thumb.save("trouble-library")
        thumb.press(thumb.activity.getString(R.string.again))
        assertTrue(thumb.read(), thumb.activity.getString(R.string.trouble_library_text) in thumb.read())
    }

    @Test fun `a notebook that cannot be opened, and then can`() {
        app.folder.parentFile!!.mkdirs()
        app.folder.writeText("a file where the notebook should be")
        val thumb = Thumb()
        val read = thumb.read()
        assertTrue(read, thumb.activity.getString(R.string.trouble_notebook) in read)
        assertEquals("a file where the notebook should be", app.folder.readText())
        thumb.save("trouble-notebook")
        app.folder.delete()
        thumb.press(thumb.activity.getString(R.string.again))
        assertTrue(thumb.read(), "New site" in thumb.read())
    }

    @Test fun `a site that is damaged does not hide the others, and is left as it is`() {
        Demo.lay(app, "evening")
        val bad = app.folder.resolve("sites/018eec5b-7300-7d26-a215-000000000001.boxproof")
        bad.writeText("no log")
        val thumb = Thumb()
        val read = thumb.read()
        assertTrue(read, "This site could not be read" in read && "Lantern Lane" in read)
        assertEquals("no log", bad.readText())
        thumb.save("trouble-site")
    }

    @Test fun `no room for a file that is to be handed out`() {
        Demo.lay(app, "evening")
        app.folder.resolve("out").writeText("in the way")
        val thumb = Thumb()
        Day(thumb).play("enter Lantern Lane\npress Day record")
        thumb.press("Give out the entries")
        assertTrue(thumb.refusal.orEmpty(), "Nothing noted is lost" in thumb.refusal.orEmpty())
        thumb.press(thumb.activity.getString(R.string.dismiss))
        assertEquals(null, thumb.refusal)
    }

    @Test fun `a disk that takes nothing more, and then does`() {
        val thumb = Thumb("morning", OffsetDateTime.parse("2026-05-12T11:05:00-05:00"))
        Day(thumb).play("enter Lantern Lane\nenter B7")
        val (words, before) = thumb.read() to thumb.entries()
        // No file of this process may grow: what a full disk does, as far as it can be done to one process.
        largest(1)
        try {
            thumb.press("Cover off")
        } finally {
            largest(Long.MAX_VALUE)
        }
        val refusal = thumb.refusal.orEmpty()
        assertTrue(refusal, "Everything noted before is kept" in refusal)
        assertFalse("a way that nobody can go: $refusal", app.folder.path in refusal)
        thumb.save("trouble-disk")
        thumb.press(thumb.activity.getString(R.string.dismiss))
        assertEquals("the page is as it was", words, thumb.read())
        assertEquals(before, thumb.entries())
        thumb.press("Cover off")
        assertEquals(null, thumb.refusal)
        assertEquals(before + 1, thumb.entries())
    }

    /** RLIMIT_FSIZE, which is 1 here; the hard limit stays as it is. */
    private fun largest(bytes: Long) {
        val limits = Memory(16)
        val c = NativeLibrary.getInstance("c")
        assertEquals(0, c.getFunction("getrlimit").invokeInt(arrayOf(1, limits)))
        limits.setLong(0, minOf(bytes.toULong(), limits.getLong(8).toULong()).toLong())
        assertEquals(0, c.getFunction("setrlimit").invokeInt(arrayOf(1, limits)))
    }

    @Test fun `a key that no longer opens is put aside on request, never deleted`() {
        Demo.lay(app, "morning")
        File(app.filesDir, "test-key").delete()
        val thumb = Thumb()
        val read = thumb.read()
        assertTrue(read, thumb.activity.getString(R.string.trouble_key_text) in read)
        thumb.save("trouble-key")
        thumb.press(thumb.activity.getString(R.string.new_key))
        assertTrue(thumb.read(), "Lantern Lane" in thumb.read())
        assertEquals(1, app.noBackupFilesDir.listFiles()!!.count { it.name.endsWith(".old") })
    }

    @Test fun `the seed is wrapped, comes back the same, and nothing else opens it`() {
        val (key, other) = KeyGenerator.getInstance("AES").run { init(256); generateKey() to generateKey() }
        val file = File(app.filesDir, "a-seed")
        val bytes = Seed(file) { key }.bytes()
        assertEquals(32, bytes.size)
        assertArrayEquals(bytes, Seed(file) { key }.bytes())
        assertFalse("the bytes lie open", file.readBytes().toList().windowed(32).any { it == bytes.toList() })
        assertThrows(Seed.Lost::class.java) { Seed(file) { other }.bytes() }
        val kept = file.readBytes()
        for (n in kept.indices) {
            file.writeBytes(kept.copyOf().also { it[n] = (it[n].toInt() xor 1).toByte() })
            assertThrows(Seed.Lost::class.java) { Seed(file) { key }.bytes() }
        }
        for (length in listOf(0, 5, 12, kept.size - 1)) {
            file.writeBytes(kept.copyOf(length))
            assertThrows(Seed.Lost::class.java) { Seed(file) { key }.bytes() }
        }
    }

    @Test fun `no keystore at all is told as a key that does not open`() {
        // This machine has none, so the phone's own way of getting the key fails here, as it may on a broken phone.
        assertThrows(Seed.Lost::class.java) { Seed(File(app.filesDir, "b-seed"), Seed::keystore).bytes() }
    }
}
