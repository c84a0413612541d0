package org.boxproof.shell

import android.widget.EditText
import org.junit.Assert.assertEquals
import org.junit.Assert.assertNotSame
import org.junit.Assert.assertNull
import org.junit.Assert.assertTrue
import org.junit.Test
import org.junit.runner.RunWith
import org.robolectric.RobolectricTestRunner
import java.io.File
import java.time.OffsetDateTime

/** Whole pieces of work, by touch alone, on the real core. */
@RunWith(RobolectricTestRunner::class)
class VisitTest {
    @Test fun `a first visit from nothing, with the phone turned and the app killed on the way`() {
        val thumb = Thumb()
        val script = File("../../tests/thumb/first-visit.txt").readText()
        val turns = script.lines().withIndex().filter { it.value.startsWith("fill ") }.map { it.index + 1 }
        Day(thumb).play(script) { n ->
            if (n == turns[3]) thumb.turn()
            if (n == turns[5]) thumb.kill()
        }
        val read = thumb.read()
        for (words in listOf("cellar, by panel", "C black, constant hot, as found")) assertTrue(read, words in read)
        thumb.save("visit-end")
    }

    @Test fun `what is being typed outlives a turned phone and a killed app`() {
        val thumb = Thumb()
        thumb.type("New site", "Lantern Lane")
        thumb.press("Note who you are")
        thumb.field("Name").setText("half a na")
        thumb.turn()
        assertEquals("half a na", thumb.field("Name").text.toString())
        val before = thumb.activity
        thumb.kill()
        assertNotSame(before, thumb.activity)
        assertEquals("half a na", thumb.field("Name").text.toString())
        // The way back is kept as well.
        thumb.front()
        assertTrue(thumb.here, thumb.here.startsWith("job"))
    }

    @Test fun `what was asked and half answered outlives a killed app`() {
        val thumb = Thumb()
        thumb.press("New site")
        all(thumb.question.window!!.decorView).filterIsInstance<EditText>().single().setText("Lantern La")
        thumb.kill()
        assertEquals("Lantern La", all(thumb.question.window!!.decorView).filterIsInstance<EditText>().single().text.toString())
    }

    @Test fun `two fast taps note once`() {
        val thumb = Thumb()
        thumb.type("New site", "Lantern Lane")
        thumb.press("Note who you are")
        thumb.fill("Name", "W. Tolliver")
        val button = thumb.button("Note this person")
        thumb.tap(button, wait = false)
        thumb.tap(button)
        assertNull(thumb.refusal)
        val entries = thumb.entries()
        assertEquals("one site, one person", 2, entries)
    }

    @Test fun `a dead check is finished`() {
        val thumb = Thumb("morning", at("2026-05-12T11:05:00-05:00"))
        Day(thumb).play("""
            enter Lantern Lane
            enter glue bench
            enter Dead check
            press Ask again: 6 pairs
            ${"press 0.0 V\n".repeat(6)}
        """.trimIndent().lines().joinToString("\n", transform = String::trim))
        val read = thumb.read()
        assertTrue(read, "6 pairs, 6 read" in read)
        thumb.save("dead-check-read")
        thumb.type("circuit 5, by the cellar lamp", "121.2")
        val finished = thumb.read()
        assertTrue(finished, "read dead, the meter shown to work before and after, 11:0" in finished)
    }

    @Test fun `a switch is tried, a reading taken, and the record handed out`() {
        val thumb = Thumb("disagreement", at("2026-05-12T16:11:00-05:00"))
        Day(thumb).play("""
            enter Lantern Lane
            press Live check
            enter B3 switch up, B6 up
            press on
            type what it reads | 119.4
            shows 119.4
            press Day record
            press Read it
        """.trimIndent())
        val file = thumb.find("the file") { it is RowFrame && it.contentDescription?.contains("record-2026-05-12") == true }
        // It was revealed: who pressed need not look for it.
        assertTrue(file.getGlobalVisibleRect(android.graphics.Rect()))
        thumb.save("record-as-file")
    }

    private fun at(time: String) = OffsetDateTime.parse(time)
}
