package org.boxproof.shell

import android.app.Notification
import android.app.NotificationManager
import android.content.Intent
import android.net.Uri
import org.junit.Assert.assertEquals
import org.junit.Assert.assertFalse
import org.junit.Assert.assertNull
import org.junit.Assert.assertTrue
import org.junit.Assert.fail
import org.junit.Test
import org.junit.runner.RunWith
import org.robolectric.RobolectricTestRunner
import org.robolectric.Shadows.shadowOf
import java.io.ByteArrayInputStream
import java.io.FileNotFoundException
import java.io.InputStream
import java.time.OffsetDateTime
import java.util.function.Supplier

/** Files that go out and come in, and the lasting line. */
@RunWith(RobolectricTestRunner::class)
class FilesTest {
    private val morning = OffsetDateTime.parse("2026-05-12T11:05:00-05:00")
    private val other: Uri = Uri.parse("content://org.example.mail/7")

    @Suppress("DEPRECATION") // The call with a class came with SDK 33.
    private fun shared(thumb: Thumb): Pair<Intent, Uri> {
        val chooser = shadowOf(thumb.activity).nextStartedActivity
        val send = chooser.getParcelableExtra<Intent>(Intent.EXTRA_INTENT)!!
        return send to send.getParcelableExtra<Uri>(Intent.EXTRA_STREAM)!!
    }

    @Test fun `the day record is handed to another app, and nothing else is`() {
        val thumb = Thumb("evening", OffsetDateTime.parse("2026-05-12T16:55:00-05:00"))
        Day(thumb).play("enter Lantern Lane\npress Day record")
        thumb.press("Read it")
        thumb.enter("Share the file")
        val (send, uri) = shared(thumb)
        assertEquals("text/html", send.type)
        assertTrue(send.flags and Intent.FLAG_GRANT_READ_URI_PERMISSION != 0)
        val resolver = thumb.app.contentResolver
        val text = resolver.openInputStream(uri)!!.bufferedReader().use { it.readText() }
        assertTrue(text.take(200), "Lantern Lane" in text)
        assertEquals("text/html", resolver.getType(uri))
        for (elsewhere in listOf("../seed", "..%2Fsites", "none.html", "")) {
            try {
                resolver.openInputStream(uri.buildUpon().path(elsewhere).build())
                fail("$elsewhere was handed out")
            } catch (refused: FileNotFoundException) {
                assertTrue(refused.message.orEmpty().isNotEmpty())
            }
        }
    }

    @Test fun `the day record is laid out for the printer with nothing from outside`() {
        val thumb = Thumb("evening", OffsetDateTime.parse("2026-05-12T16:55:00-05:00"))
        Day(thumb).play("enter Lantern Lane\npress Day record\npress Read it\nenter Print it")
        val page = HandOut.printing!!
        assertFalse(page.settings.javaScriptEnabled || page.settings.allowContentAccess)
        val laid = shadowOf(page).lastLoadDataWithBaseURL
        assertEquals(listOf("text/html", null), listOf(laid.mimeType, laid.baseUrl))
        assertTrue(laid.data.take(200), "Lantern Lane" in laid.data)
        page.webViewClient.onPageFinished(page, null)
        assertNull("held no longer than it is laid out", HandOut.printing)
        assertNull(thumb.refusal)
    }

    @Test fun `a job file from another app becomes a job here`() {
        val thumb = Thumb()
        val lines = jobLines()
        shadowOf(thumb.app.contentResolver).registerInputStream(other, ByteArrayInputStream(lines))
        thumb.controller.newIntent(Intent(Intent.ACTION_VIEW, other))
        thumb.settle()
        assertNull(thumb.refusal)
        assertTrue(thumb.read(), "are new here" in thumb.read())
        assertTrue(thumb.here, thumb.here.startsWith("job "))
    }

    @Test fun `a file that is no job is refused in words, and nothing is left behind`() {
        val thumb = Thumb()
        shadowOf(thumb.app.contentResolver).registerInputStream(other, ByteArrayInputStream("\u0000\u0001 not a job\n".toByteArray()))
        thumb.controller.newIntent(Intent(Intent.ACTION_SEND).putExtra(Intent.EXTRA_STREAM, other))
        thumb.settle()
        assertTrue(thumb.refusal.orEmpty(), "no entry of a job in this file" in thumb.refusal.orEmpty())
        assertTrue(thumb.app.folder.resolve("sites").list()!!.isEmpty())
        assertTrue(thumb.app.cacheDir.listFiles()!!.none { it.name.startsWith("taken") })
        thumb.save("not-a-job")
    }

    @Test fun `a file that the other app no longer gives is told`() {
        val thumb = Thumb()
        val ended = Supplier<InputStream> { throw SecurityException("the permission has ended") }
        shadowOf(thumb.app.contentResolver).registerInputStreamSupplier(other, ended)
        thumb.controller.newIntent(Intent(Intent.ACTION_VIEW, other))
        thumb.settle()
        assertEquals(thumb.activity.getString(R.string.file_not_taken), thumb.refusal)
    }

    @Test fun `what is held stays in the notifications when the app is left, until it is no longer held`() {
        val thumb = Thumb("morning", morning)
        val manager = thumb.app.getSystemService(NotificationManager::class.java)!!
        fun lines() = manager.activeNotifications.map { it.notification }
        thumb.await("a notification") { lines().isNotEmpty() }
        val line = lines().single()
        assertEquals("Circuit 7 OFF since 08:52, lock and tag: W. Tolliver, 08:52", line.extras.getCharSequence(Notification.EXTRA_TITLE).toString())
        assertTrue(line.flags and Notification.FLAG_ONGOING_EVENT != 0)
        thumb.kill()
        assertEquals(1, lines().size)
        Day(thumb).play("enter Lantern Lane\nenter Circuit 7: OFF\nenter Circuit 7, panel P\npress My lock off")
        thumb.await("the line without a lock") { "Tolliver" !in lines().single().extras.getCharSequence(Notification.EXTRA_TITLE).toString() }
        thumb.press("ON")
        thumb.await("no notification") { lines().isEmpty() }
    }

    @Test fun `where nothing is held there is no notification`() {
        val thumb = Thumb("evening", OffsetDateTime.parse("2026-05-12T16:55:00-05:00"))
        assertEquals(0, thumb.app.getSystemService(NotificationManager::class.java)!!.activeNotifications.size)
    }

    /** The demo job as one phone gives it to another. */
    private fun jobLines(): ByteArray {
        val program = System.getProperty("boxproof.program")!!
        val site = Demo.folder("evening").resolve("sites").listFiles()!!.single { it.extension == "boxproof" }
        return ProcessBuilder(program, "entries", site.path).start().inputStream.readBytes()
    }
}
