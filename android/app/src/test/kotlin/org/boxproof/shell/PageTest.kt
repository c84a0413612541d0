package org.boxproof.shell

import android.content.pm.PackageManager
import android.graphics.Insets
import android.os.Build
import android.view.KeyEvent
import android.view.View
import android.view.WindowInsets
import android.view.accessibility.AccessibilityNodeInfo
import android.widget.Button
import android.widget.TextView
import android.window.OnBackInvokedCallback
import org.boxproof.core.Body
import org.boxproof.core.Row
import org.boxproof.core.Screen
import org.junit.Assert.assertEquals
import org.junit.Assert.assertNotEquals
import org.junit.Assert.assertSame
import org.junit.Assert.assertTrue
import org.junit.Assume.assumeTrue
import org.junit.Test
import org.junit.runner.RunWith
import org.robolectric.RobolectricTestRunner
import org.robolectric.RuntimeEnvironment
import java.time.OffsetDateTime

/** How the page behaves: windows of rows, languages, hands, bars, pictures. */
@RunWith(RobolectricTestRunner::class)
class PageTest {
    private fun row(n: Int) = Row("row $n", null, false, "row $n", null, "go $n", Body.Item(null, "Row $n", "second line of row $n", ""))

    @Test fun `five hundred rows scroll and few are built`() {
        val thumb = Thumb()
        val page = thumb.page.findViewById<Page>(R.id.page)!!
        val rows = (1..500).map(::row)
        page.show(Screen("many", "", "Many", null, 0uL, rows, null, null, null), rows, null, false)
        thumb.settle()
        assertTrue("${thumb.rows.built} built", thumb.rows.built in 10..60)
        var most = 0
        val seen = HashSet<String>()
        thumb.each {
            most = maxOf(most, thumb.rows.built)
            seen += all(thumb.page).filterIsInstance<TextView>().filter { it.isShown }.map { it.text.toString() }
        }
        assertTrue("Row 500 was never shown", (1..500).all { "Row $it" in seen })
        assertTrue("$most built at once", most < 130)
    }

    @Test fun `a row that did not change keeps its view, and the page its place`() {
        val thumb = Thumb()
        val page = thumb.page.findViewById<Page>(R.id.page)!!
        val rows = (1..40).map(::row)
        val screen = Screen("many", "", "Many", null, 0uL, rows, null, null, null)
        page.show(screen, rows, null, false)
        thumb.settle()
        thumb.rows.scrollTo(0, 900)
        thumb.settle()
        val place = thumb.rows.place()
        val kept = thumb.find("row 9") { it is RowFrame && it.contentDescription == "row 9" }
        page.show(screen, rows.map { if (it.key == "row 12") it.copy(now = true) else it }, place, false)
        thumb.settle()
        assertSame(kept, thumb.find("row 9") { it is RowFrame && it.contentDescription == "row 9" })
        assertEquals(place, thumb.rows.place())
    }

    @Test fun `the words of the shell can be another language's`() {
        RuntimeEnvironment.setQualifiers("+en-rXA")
        val thumb = Thumb()
        val words = thumb.activity.getString(R.string.settings)
        assertNotEquals("Light, hand and keys of this phone", words)
        thumb.find("settings") { it is RowFrame && it.contentDescription == words }
    }

    @Test fun `a page that reads from the right begins there`() {
        RuntimeEnvironment.setQualifiers("+ar-rXB-ldrtl")
        val thumb = Thumb("morning")
        thumb.enter("Lantern Lane")
        thumb.save("front-rtl")
        val title = thumb.find("title") { it is TextView && it.text.toString() == "Back stair, wall light" } as TextView
        assertEquals(View.LAYOUT_DIRECTION_RTL, title.layoutDirection)
        assertTrue("the title is not on the right", title.layout.getLineLeft(0) > title.layout.width / 4)
        val back = thumb.button(thumb.activity.getString(R.string.back))
        assertTrue("the way back is not on the right", back.left > thumb.page.width / 2)
    }

    @Test fun `a left hand finds the bar mirrored, and what was chosen is kept`() {
        val thumb = Thumb("morning")
        thumb.enter("Lantern Lane")
        val right = thumb.button("Back").left
        thumb.enter(thumb.activity.getString(R.string.settings))
        thumb.choose("Hand", "left")
        assertTrue(thumb.button("Back").left > right)
        thumb.kill()
        assertTrue(thumb.button("Back").left > right)
    }

    @Test fun `the cellar can be chosen by day`() {
        val thumb = Thumb("morning")
        val noon = thumb.save("chosen-noon").getPixel(3, 2300)
        thumb.enter(thumb.activity.getString(R.string.settings))
        thumb.choose("Light", "cellar")
        val cellar = thumb.save("chosen-cellar").getPixel(3, 2300)
        assertEquals(0xFFFFFFFF.toInt(), noon)
        assertEquals(0xFF15120E.toInt(), cellar)
    }

    @Test fun `the page keeps clear of bars and keyboard`() {
        assumeTrue("the call that makes insets came with SDK 30", Build.VERSION.SDK_INT >= 30)
        val thumb = Thumb()
        val insets = WindowInsets.Builder().setInsets(WindowInsets.Type.systemBars(), Insets.of(0, 132, 0, 72))
            .setInsets(WindowInsets.Type.ime(), Insets.of(0, 0, 0, 900)).build()
        thumb.page.dispatchApplyWindowInsets(insets)
        thumb.page.requestLayout()
        thumb.settle()
        val bar = thumb.page.findViewById<View>(R.id.deeds)!!
        val at = IntArray(2).also(bar::getLocationInWindow)
        assertEquals(thumb.page.height - 900, at[1] + bar.height)
        assertEquals(132, IntArray(2).also(thumb.page.findViewById<View>(R.id.head)!!::getLocationInWindow)[1] / 10 * 10 + 2)
    }

    @Test fun `a number is typed with large keys, or with real ones`() {
        val thumb = Thumb("morning", OffsetDateTime.parse("2026-05-12T11:05:00-05:00"))
        Day(thumb).play("enter Lantern Lane\nenter foot of stair\npress Note a run")
        val field = thumb.field("Length")
        field.requestFocus()
        thumb.settle()
        for (key in listOf("1", "4", ".", "5", "delete")) thumb.press(key)
        assertEquals("14.", field.text.toString())
        val least = thumb.activity.resources.getDimensionPixelSize(R.dimen.touch_action)
        assertTrue(all(field.parent.parent as View).filterIsInstance<Button>().filter { it.text.length == 1 }.all { it.height >= least })
        field.dispatchKeyEvent(KeyEvent(KeyEvent.ACTION_DOWN, KeyEvent.KEYCODE_7))
        field.dispatchKeyEvent(KeyEvent(KeyEvent.ACTION_UP, KeyEvent.KEYCODE_7))
        assertEquals("14.7", field.text.toString())
        thumb.save("number-keys")
    }

    @Test fun `a keyboard reaches what can be pressed, and nothing else is said to be a button`() {
        val thumb = Thumb("morning")
        thumb.enter("Lantern Lane")
        val (pressed, read) = all(thumb.page).filter { it is Button || it is RowFrame }.partition { it is Button || (it as RowFrame).leads }
        assertTrue("${pressed.size} to press", pressed.any { it is Button } && pressed.any { it is RowFrame })
        assertTrue(pressed.all { it.isFocusable && it.isClickable && it.foreground?.isStateful == true && it.background?.isStateful == true })
        assertTrue(pressed.all { it.accessibilityClassName == Button::class.java.name })
        assertTrue(read.none { it.isFocusable || it.isClickable || it.accessibilityClassName == Button::class.java.name })
    }

    @Test fun `a screen reader and a keyboard press a place in a picture`() {
        val thumb = Thumb("morning", OffsetDateTime.parse("2026-05-12T11:05:00-05:00"))
        Day(thumb).play("enter Lantern Lane\npress Circuit")
        val here = thumb.here
        val picture = thumb.find("picture") { it is PictureView }
        picture.accessibilityNodeProvider!!.performAction(1, AccessibilityNodeInfo.ACTION_CLICK, null)
        thumb.settle()
        assertNotEquals(here, thumb.here)
        thumb.press("Back")
        val again = thumb.find("picture") { it is PictureView }
        again.requestFocus()
        for (key in listOf(KeyEvent.KEYCODE_DPAD_DOWN, KeyEvent.KEYCODE_DPAD_DOWN, KeyEvent.KEYCODE_ENTER)) {
            again.dispatchKeyEvent(KeyEvent(KeyEvent.ACTION_DOWN, key))
        }
        thumb.settle()
        assertNotEquals(here, thumb.here)
    }

    @Test fun `the back gesture goes the way back, then leaves`() {
        val thumb = Thumb("morning")
        thumb.enter("Lantern Lane")
        goBack(thumb)
        assertTrue(thumb.here, thumb.here.startsWith("sites"))
        assertEquals(false, thumb.activity.isFinishing)
        goBack(thumb)
        // From the first screen the system has its way: no callback of ours, or the old call ends the Activity.
        assertTrue(Build.VERSION.SDK_INT >= 33 || thumb.activity.isFinishing)
    }

    /** What the system does on a back gesture, as far as it is here. */
    private fun goBack(thumb: Thumb) {
        if (Build.VERSION.SDK_INT >= 33) {
            val top = top(thumb.activity.onBackInvokedDispatcher)
            if (thumb.here.startsWith("sites")) assertEquals(null, ours(top)) else top!!.onBackInvoked()
        } else {
            @Suppress("DEPRECATION")
            thumb.activity.onBackPressed()
        }
        thumb.settle()
    }

    /** The callback that the system would call; a dispatcher of the window may stand behind one of the Activity. */
    private fun top(dispatcher: Any): OnBackInvokedCallback? {
        fun held(name: String) = dispatcher.javaClass.getDeclaredField(name).apply { isAccessible = true }.get(dispatcher)
        held("mActualDispatcher")?.let { return it.javaClass.getMethod("getTopCallback").invoke(it) as OnBackInvokedCallback? }
        return (held("mCallbacks") as List<*>).lastOrNull()?.let { (it as android.util.Pair<*, *>).first as OnBackInvokedCallback }
    }

    private fun ours(callback: OnBackInvokedCallback?) = callback?.takeIf { "boxproof" in it.javaClass.name }

    @Test fun `nothing is asked of the phone but to show what is held`() {
        val info = Thumb().app.run { packageManager.getPackageInfo(packageName, PackageManager.GET_PERMISSIONS) }
        assertEquals(listOf("android.permission.POST_NOTIFICATIONS"), info.requestedPermissions?.toList())
    }
}
