package org.boxproof.shell

import android.os.Build
import android.widget.EditText
import android.widget.TextView
import org.junit.Assert.assertTrue
import org.junit.Assume.assumeTrue
import org.junit.Test
import org.junit.runner.RunWith
import org.robolectric.RobolectricTestRunner
import org.robolectric.RuntimeEnvironment
import java.io.File
import java.time.OffsetDateTime

/** Every screen of the demo job, by the ways that the browser's tests walk too: looked at, and listened to. */
@RunWith(RobolectricTestRunner::class)
class ScreensTest {
    @Test fun `morning, noon`() = walk("morning", "noon", 1f)
    @Test fun `disagreement, noon`() = walk("disagreement", "noon", 1f)
    @Test fun `evening, noon`() = walk("evening", "noon", 1f)
    @Test fun `morning, cellar`() = walk("morning", "cellar", 1f)
    @Test fun `disagreement, cellar`() = walk("disagreement", "cellar", 1f)
    @Test fun `evening, cellar`() = walk("evening", "cellar", 1f)
    @Test fun `morning, large`() = walk("morning", "noon", 2f)
    @Test fun `disagreement, large`() = walk("disagreement", "noon", 2f)
    @Test fun `evening, large`() = walk("evening", "noon", 2f)
    @Test fun `morning, large in the cellar`() = walk("morning", "cellar", 2f)
    @Test fun `disagreement, large in the cellar`() = walk("disagreement", "cellar", 2f)
    @Test fun `evening, large in the cellar`() = walk("evening", "cellar", 2f)

    private fun walk(moment: String, theme: String, scale: Float) {
        // The oldest phones are walked once: what they lack would fail in any look.
        assumeTrue("looked at on the newest", Build.VERSION.SDK_INT > 26 || theme == "noon" && scale == 1f)
        if (theme == "cellar") RuntimeEnvironment.setQualifiers("+night")
        RuntimeEnvironment.setFontScale(scale)
        val thumb = Thumb(moment, OffsetDateTime.parse(TIMES.getValue(moment)))
        thumb.enter("Lantern Lane")
        val wrong = mutableListOf<String>()
        for ((name, presses) in ways(moment)) {
            thumb.front()
            presses.forEach(thumb::pressAny)
            thumb.rows.scrollTo(0, 0)
            thumb.save("$name-$theme${if (scale > 1) "-large" else ""}")
            thumb.each { wrong += listen(thumb).map { "$name: $it" } }
            if (scale > 1) thumb.each { wrong += cut(thumb).map { "$name: $it" } }
        }
        assertTrue(wrong.toSet().joinToString("\n"), wrong.isEmpty())
    }

    /** What can be touched and has no name, or is too small for a glove. */
    private fun listen(thumb: Thumb): List<String> {
        val least = thumb.activity.resources.getDimensionPixelSize(R.dimen.touch_min)
        val targets = spoken(thumb.page).filter { it.role == "click" || it.role == "edit" }
        assertTrue("nothing to touch", targets.isNotEmpty())
        return targets.filter { it.words.isBlank() || it.size.first < least || it.size.second < least }.map { "$it, least $least" }
    }

    /** Words that do not fit their place. */
    private fun cut(thumb: Thumb) = all(thumb.page).filterIsInstance<TextView>().filter { it.isShown && it.layout != null && it !is EditText }
        .filter { it.height < it.layout.height + it.compoundPaddingTop + it.compoundPaddingBottom || it.layout.ellipsizedWidth > it.width }
        .filter { it.height > 1 }.map { "cut: ${it.text}" }

    private fun ways(moment: String) = File("../../tests/browser/ways.txt").readLines()
        .filter { it.isNotBlank() && !it.startsWith("#") }.map { line -> line.split("|").map(String::trim) }
        .filter { it[0] == moment }.map { it[1] to it.drop(2) }.also { assertTrue("no way in $moment", it.isNotEmpty()) }

    private companion object {
        val TIMES = mapOf(
            "morning" to "2026-05-12T11:00:00-05:00",
            "disagreement" to "2026-05-12T16:11:00-05:00",
            "evening" to "2026-05-12T16:55:00-05:00",
        )
    }
}
