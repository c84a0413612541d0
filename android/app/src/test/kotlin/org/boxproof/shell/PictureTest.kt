package org.boxproof.shell

import android.graphics.Rect
import android.os.Looper
import android.os.SystemClock
import android.view.MotionEvent
import org.junit.Assert.assertEquals
import org.junit.Assert.assertNotEquals
import org.junit.Assert.assertTrue
import org.junit.Test
import org.junit.runner.RunWith
import org.robolectric.RobolectricTestRunner
import org.robolectric.RuntimeEnvironment
import org.robolectric.Shadows.shadowOf
import java.time.Duration
import java.time.OffsetDateTime

/** One finger and two on a picture, through the window. */
@RunWith(RobolectricTestRunner::class)
class PictureTest {
    private val morning = OffsetDateTime.parse("2026-05-12T11:05:00-05:00")

    private fun box(): Thumb = Thumb("morning", morning).also { Day(it).play("enter Lantern Lane\nenter B3") }
    private fun picture(thumb: Thumb) = thumb.find("picture") { it is PictureView } as PictureView

    /** Where the places of a picture are on the screen, by their words. */
    private fun places(picture: PictureView): Map<String, Rect> =
        spoken(picture).filter { it.role == "click" }.associate { it.words to it.bounds }.also { assertTrue("$it", it.size > 5) }

    /** Fingers on the picture, from points to points of it. */
    private fun move(picture: PictureView, vararg fingers: Pair<Pair<Float, Float>, Pair<Float, Float>>) {
        val at = IntArray(2).also(picture::getLocationInWindow)
        val down = SystemClock.uptimeMillis()
        fun send(action: Int, share: Float, count: Int = fingers.size) {
            val properties = Array(count) { MotionEvent.PointerProperties().apply { id = it; toolType = MotionEvent.TOOL_TYPE_FINGER } }
            val places = Array(count) { n ->
                val (from, to) = fingers[n]
                MotionEvent.PointerCoords().apply {
                    x = at[0] + from.first + (to.first - from.first) * share
                    y = at[1] + from.second + (to.second - from.second) * share
                    pressure = 1f
                    size = 1f
                }
            }
            val event = MotionEvent.obtain(down, SystemClock.uptimeMillis(), action, count, properties, places, 0, 0, 1f, 1f, 0, 0, 0, 0)
            picture.rootView.dispatchTouchEvent(event)
            event.recycle()
            shadowOf(Looper.getMainLooper()).idleFor(Duration.ofMillis(16))
        }
        val second = 1 shl MotionEvent.ACTION_POINTER_INDEX_SHIFT
        send(MotionEvent.ACTION_DOWN, 0f, 1)
        if (fingers.size > 1) send(MotionEvent.ACTION_POINTER_DOWN or second, 0f)
        for (step in 1..10) send(MotionEvent.ACTION_MOVE, step / 10f)
        if (fingers.size > 1) send(MotionEvent.ACTION_POINTER_UP or second, 1f)
        send(MotionEvent.ACTION_UP, 1f, 1)
    }

    @Test fun `two fingers make it larger, one moves it, and what is touched is what is seen`() {
        val thumb = box()
        val picture = picture(thumb)
        val small = places(picture)
        val (x, y) = picture.width / 2f to picture.height / 3f
        // The framework takes two fingers for a pinch from 27 mm apart.
        fun apart(from: Int, to: Int) = move(picture, (x - from to y) to (x - to to y), (x + from to y) to (x + to to y))
        apart(200, 500)
        val large = places(picture)
        val grown = small.map { (words, was) -> large.getValue(words).width().toFloat() / was.width() }
        assertTrue("grown by $grown", grown.min() > 1.5f && grown.max() / grown.min() < 1.1f)
        thumb.save("box-larger")

        val page = thumb.rows.scrollY
        move(picture, (x to y) to (x - 150 to y - 120))
        val moved = places(picture)
        assertEquals("the page stays where it is", page, thumb.rows.scrollY)
        val ways = large.map { (words, was) -> moved.getValue(words).run { left - was.left to top - was.top } }.toSet()
        assertTrue("all of it moves at once: $ways", ways.maxOf { it.first } < -50 && ways.maxOf { it.second } < -30)
        assertTrue("$ways", ways.all { (dx, dy) -> ways.all { kotlin.math.abs(it.first - dx) < 3 && kotlin.math.abs(it.second - dy) < 3 } })

        repeat(2) { apart(500, 100) }
        assertEquals("no smaller than it was", small, places(picture))

        apart(200, 500)
        val here = thumb.here
        val seen = Rect().also(picture::getGlobalVisibleRect)
        val word = places(picture).filterValues { seen.contains(it) }.keys.first { "bare" in it || "white" in it || "black" in it }
        thumb.touch(word)
        assertNotEquals("$word was touched", here, thumb.here)
    }

    @Test fun `up and down on a picture as it comes scrolls the page`() {
        val thumb = box()
        val picture = picture(thumb)
        val (before, x) = thumb.rows.scrollY to picture.width / 2f
        val seen = Rect().also(picture::getLocalVisibleRect)
        move(picture, (x to seen.bottom - 40f) to (x to seen.top + 40f))
        assertTrue("${thumb.rows.scrollY}", thumb.rows.scrollY > before)
    }

    @Test fun `one that is wider than the phone has buttons that show its ends`() {
        RuntimeEnvironment.setQualifiers("w320dp-h640dp")
        val thumb = box()
        val picture = picture(thumb)
        fun lefts() = places(picture).mapValues { it.value.left }
        val before = lefts()
        thumb.press(thumb.activity.getString(R.string.picture_right))
        val after = lefts()
        assertTrue(before.all { (words, was) -> after.getValue(words) < was })
        thumb.press(thumb.activity.getString(R.string.picture_left))
        assertEquals(before, lefts())
        // A finger across it does the same, and the page does not move.
        val page = thumb.rows.scrollY
        val y = Rect().also(picture::getLocalVisibleRect).exactCenterY()
        move(picture, (picture.width * 0.8f to y) to (picture.width * 0.2f to y))
        assertTrue(before.all { (words, was) -> lefts().getValue(words) < was })
        assertEquals(page, thumb.rows.scrollY)
    }
}
