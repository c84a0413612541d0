package org.boxproof.shell

import android.app.Dialog
import android.graphics.Bitmap
import android.content.res.Configuration
import android.graphics.Canvas
import android.graphics.Rect
import android.os.Build
import android.os.Bundle
import android.os.Looper
import android.os.Parcel
import android.os.SystemClock
import android.view.MotionEvent
import android.view.View
import android.view.ViewGroup
import android.view.accessibility.AccessibilityNodeInfo
import android.widget.Button
import android.widget.EditText
import android.widget.TextView
import org.robolectric.Robolectric
import org.robolectric.RuntimeEnvironment
import org.robolectric.Shadows.shadowOf
import org.robolectric.android.controller.ActivityController
import org.robolectric.shadows.ShadowDialog
import java.io.File
import java.time.Duration
import java.time.OffsetDateTime
import java.util.concurrent.TimeUnit

/** A thumb on the real Activity: it finds what is shown by its words and presses it through the window. */
internal class Thumb(moment: String? = null, clock: OffsetDateTime? = null) {
    val app = RuntimeEnvironment.getApplication() as TestApplication
    var controller: ActivityController<MainActivity>
        private set
    val activity: MainActivity get() = controller.get()
    val page: View get() = activity.window.decorView
    val rows: RowsView get() = all(page).filterIsInstance<RowsView>().single()

    init {
        app.clock = clock
        moment?.let { Demo.lay(app, it) }
        controller = Robolectric.buildActivity(MainActivity::class.java).setup()
        settle()
    }

    /**
     * Waits until the core has answered, also what was asked beside (a question of the system that comes of it would take
     * a touch that is halfway down), and the page is laid out.
     */
    fun settle() {
        do {
            val busy = app.book.busy
            app.book.line.submit {}.get(30, TimeUnit.SECONDS)
            shadowOf(Looper.getMainLooper()).idle()
        } while (busy)
        settleLayout()
    }

    /** Waits for what is done beside the person. */
    fun await(what: String, met: () -> Boolean) {
        val until = System.nanoTime() + 10_000_000_000
        while (!met()) {
            check(System.nanoTime() < until) { "never: $what" }
            Thread.sleep(5)
            shadowOf(Looper.getMainLooper()).idle()
        }
    }

    val title: String get() = activity.title.toString()
    val refusal: String? get() = page.findViewById<TextView>(R.id.refusal)!!.takeIf { it.isShown }?.text?.toString()

    /** Everything that is shown as text, built or about to be: the page is scrolled through. */
    fun read(): String {
        val seen = LinkedHashSet<String>()
        each { seen += all(page).filter { it.isShown }.flatMap(::said) }
        return seen.joinToString("\n")
    }

    private fun said(view: View) = listOfNotNull((view as? TextView)?.text?.toString(), view.contentDescription?.toString()) +
        ((view as? PictureView)?.let { picture -> spoken(picture).map { it.words } } ?: emptyList())

    /** Scrolls through the page from the top, a window at a time. */
    fun each(look: () -> Unit) {
        rows.scrollTo(0, 0)
        settleLayout()
        look()
        while (rows.canScrollVertically(1)) {
            val before = rows.scrollY
            rows.scrollBy(0, (rows.height * 0.8).toInt())
            settleLayout()
            look()
            if (rows.scrollY <= before) break
        }
    }

    private fun settleLayout() = shadowOf(Looper.getMainLooper()).idleFor(Duration.ofMillis(50))

    /** The first view that fits, scrolling down to it. */
    fun find(what: String, fits: (View) -> Boolean): View {
        fun now() = all(page).firstOrNull { it.isShown && fits(it) }
        now()?.let { return it }
        var found: View? = null
        rows.scrollTo(0, 0)
        settleLayout()
        while (true) {
            found = now()
            val before = rows.scrollY
            if (found != null || !rows.canScrollVertically(1)) break
            rows.scrollBy(0, rows.height / 2)
            settleLayout()
            if (rows.scrollY == before) break
        }
        return found ?: throw AssertionError("no $what on “$title”:\n${read()}")
    }

    fun button(words: String) = find("button “$words”") { it is Button && first(it) == words }
    private fun first(view: Button) = view.text.toString().substringBefore('\n')

    /** A button with these words. */
    fun press(words: String) = tap(button(words))

    /** A row that leads on and whose words hold these. */
    fun enter(words: String) = tap(find("row “$words”") { it is RowFrame && it.leads && it.contentDescription?.contains(words) == true })

    /** As the ways of the browser say it: what holds these words first, or `tag:` a tape, or `exactly:` these words. */
    fun pressAny(what: String) {
        val fits: (String) -> Boolean = when {
            what.startsWith("tag:") -> { text -> text.lines().first().trim().equals(what.drop(4), ignoreCase = true) }
            what.startsWith("exactly:") -> { text -> text.trim() == what.drop(8) }
            else -> { text -> text.contains(what, ignoreCase = true) }
        }
        tap(find("“$what”") { view ->
            (view is Button || view is RowFrame && view.leads) &&
                fits(all(view).filterIsInstance<TextView>().joinToString("\n") { it.text.toString() })
        })
    }

    private fun named(label: String) = find("row named “$label”") { it is TextView && it !is Button && it.text.toString() == label && it.parent is RowFrame }.parent as View

    fun choose(label: String, words: String) {
        val found = find("option “$words” of “$label”") { button ->
            button is Button && first(button) == words && generateSequence(button.parent) { it.parent }.filterIsInstance<RowFrame>()
                .firstOrNull()?.let { row -> all(row).any { it is TextView && it !is Button && it.text.toString() == label } } == true
        }
        tap(found)
    }

    fun field(label: String): EditText = all(named(label)).filterIsInstance<EditText>().first()

    fun fill(label: String, text: String) {
        val row = named(label)
        all(row).filterIsInstance<EditText>().first().setText(text)
        tap(all(row).filterIsInstance<Button>().first { it.text == activity.getString(R.string.enter) })
    }

    /** Presses what asks, types the answer and enters it. */
    fun type(words: String, text: String) {
        press(words)
        val root = question.window!!.decorView
        all(root).filterIsInstance<EditText>().single().setText(text)
        tap(all(root).filterIsInstance<Button>().first { it.text == activity.getString(R.string.enter) })
    }

    val question: Dialog get() = ShadowDialog.getLatestDialog()?.takeIf { it.isShowing } ?: throw AssertionError("nothing is asked")

    /** The place in a picture whose words hold these, pressed where it is. */
    fun touch(words: String) {
        val picture = find("place “$words”") { it is PictureView && spoken(it).any { place -> words in place.words && place.role == "click" } }
        val place = spoken(picture).first { words in it.words && it.role == "click" }
        val box = place.bounds
        val at = IntArray(2).also(picture::getLocationOnScreen)
        tap(picture, box.exactCenterX() - at[0], box.exactCenterY() - at[1])
    }

    /** Presses a view through its window, at a point of it, scrolling to it first. */
    fun tap(view: View, x: Float = view.width / 2f, y: Float = view.height / 2f, wait: Boolean = true) {
        view.requestRectangleOnScreen(Rect(x.toInt(), y.toInt() - 90, x.toInt() + 1, y.toInt() + 90), true)
        settleLayout()
        // A person takes a moment between two touches.
        if (wait) SystemClock.setCurrentTimeMillis(SystemClock.uptimeMillis() + 450)
        val at = IntArray(2).also(view::getLocationInWindow)
        val down = SystemClock.uptimeMillis()
        for (action in intArrayOf(MotionEvent.ACTION_DOWN, MotionEvent.ACTION_UP)) {
            val event = MotionEvent.obtain(down, SystemClock.uptimeMillis(), action, at[0] + x, at[1] + y, 0)
            view.rootView.dispatchTouchEvent(event)
            event.recycle()
            // A scrolling page delays the pressed state; the clock must pass it.
            shadowOf(Looper.getMainLooper()).idleFor(Duration.ofMillis(if (wait) 150 else 1))
        }
        if (wait) settle()
    }

    val here get() = activity.here

    /** Back to the job's front page. */
    fun front() {
        while (!here.startsWith("job ")) press(activity.getString(R.string.back))
    }

    /** Turns the phone: the Activity is made anew, lying down or upright. */
    fun turn() {
        val lying = activity.resources.configuration.orientation == Configuration.ORIENTATION_LANDSCAPE
        RuntimeEnvironment.setQualifiers(if (lying) "+w360dp-h780dp-port" else "+w780dp-h360dp-land")
        controller.configurationChange().visible()
        settle()
    }

    /** The system ends the app and starts it again: what was not saved is gone, the core is opened anew. */
    fun kill() {
        val kept = Bundle()
        controller.pause().stop().saveInstanceState(kept).destroy()
        // A bundle goes through the system as bytes.
        val parcel = Parcel.obtain()
        parcel.writeBundle(kept)
        parcel.setDataPosition(0)
        val back = parcel.readBundle(javaClass.classLoader)
        app.startAnew()
        controller = Robolectric.buildActivity(MainActivity::class.java).setup(back)
        settle()
    }

    /** How many entries the notebook's sites hold, by the desk program that reads the same files. */
    fun entries(): Int {
        val (program, site) = System.getProperty("boxproof.program")!! to app.folder.resolve("sites").listFiles()!!.single { it.extension == "boxproof" }
        val run = ProcessBuilder(program, "entries", site.path).start()
        return run.inputStream.bufferedReader().readLines().count(String::isNotBlank).also { run.waitFor() }
    }

    fun shown(words: Int) = all(page).any { it is Button && it.isShown && it.text == activity.getString(words) }

    fun save(name: String): Bitmap {
        settle()
        val bitmap = Bitmap.createBitmap(page.width, page.height, Bitmap.Config.ARGB_8888)
        page.draw(Canvas(bitmap))
        val folder = File("target/screens").also { it.mkdirs() }
        folder.resolve("$name-${Build.VERSION.SDK_INT}.png").outputStream().use { bitmap.compress(Bitmap.CompressFormat.PNG, 100, it) }
        return bitmap
    }
}

internal fun all(v: View): List<View> =
    listOf(v) + ((v as? ViewGroup)?.let { g -> (0 until g.childCount).flatMap { all(g.getChildAt(it)) } } ?: emptyList())

/** One accessibility node, and the words a screen reader says for it. */
internal class Spoken(val node: AccessibilityNodeInfo, val words: String, view: View? = null) {
    val bounds: Rect get() = Rect().also(node::getBoundsInScreen)

    /** Whole size, also of what is partly scrolled out of sight: the node of a view tells the visible part alone. */
    val size = view?.let { it.width to it.height } ?: bounds.run { width() to height() }
    val role get() = when {
        Build.VERSION.SDK_INT >= 28 && node.isHeading -> "heading"
        node.isEditable -> "edit"
        node.isClickable -> "click"
        else -> "read"
    }

    override fun toString() = "$role ${node.className.toString().substringAfterLast('.')} '$words' $size"
}

/** The accessibility nodes of a view and what is in it, virtual ones included, in reading order. */
internal fun spoken(v: View): List<Spoken> {
    if (v.importantForAccessibility == View.IMPORTANT_FOR_ACCESSIBILITY_NO_HIDE_DESCENDANTS || v.visibility != View.VISIBLE) return emptyList()
    val provider = v.accessibilityNodeProvider
    val own = provider?.createAccessibilityNodeInfo(View.NO_ID) ?: v.createAccessibilityNodeInfo()
    val virtual = generateSequence(0) { it + 1 }.map { provider?.createAccessibilityNodeInfo(it) }
        .takeWhile { it != null }.filterNotNull().map { Spoken(it, words(it)) }.toList()
    val children = (v as? ViewGroup)?.let { g -> (0 until g.childCount).flatMap { spoken(g.getChildAt(it)) } } ?: emptyList()
    // A node's labeledBy needs the accessibility service, which is not here; the views know it too.
    val label = all(v.rootView).firstOrNull { v.id != View.NO_ID && it.labelFor == v.id }
    return listOf(Spoken(own, label?.let { words(it.createAccessibilityNodeInfo()) } ?: words(own), v)) + virtual + children
}

private fun words(n: AccessibilityNodeInfo) = (n.contentDescription ?: n.text ?: "").toString()
