package org.boxproof.shell

import android.app.Activity
import android.content.Context
import android.content.Intent
import android.content.pm.PackageManager
import android.content.res.Configuration
import android.net.Uri
import android.os.Build
import android.os.Bundle
import android.os.SystemClock
import android.view.MotionEvent
import android.window.OnBackInvokedCallback
import android.window.OnBackInvokedDispatcher
import org.boxproof.core.Ask
import org.boxproof.core.Body
import org.boxproof.core.Pick
import org.boxproof.core.Screen
import org.boxproof.core.Sent
import java.io.IOException
import kotlin.math.hypot

private const val FILE = 1
private const val BOUNCE = 400L

/** Shows the screen that the core gives, sends what was done on it, and keeps the way back. */
class MainActivity : Activity(), Hands {
    private val book get() = (application as ShellApplication).book
    override val choices by lazy { Choices(this) }
    private val look by lazy { Look(this) }
    private val own by lazy { Own(this, choices) }
    private val page by lazy { Page(this, look, this) }
    private val way = Way()
    private var shown: Screen? = null
    private var question: Question? = null
    private var settings = false

    /** Waits for a file that the person chooses. */
    private var fileFor: String? = null

    /** A file that came from another app and waits for the core. */
    private var arriving: Uri? = null
    private var entering: String? = null
    private var late: String? = null
    private var leaving: Any? = null

    /** Where and when the finger came down last, and last before something was done. */
    private class Touched(val x: Float = 0f, val y: Float = 0f, val at: Long = -BOUNCE)
    private var down = Touched()
    private var last = down

    /** The person's own choice of light goes before the system's. */
    override fun attachBaseContext(base: Context) {
        val night = mapOf("noon" to Configuration.UI_MODE_NIGHT_NO, "cellar" to Configuration.UI_MODE_NIGHT_YES)[Choices(base)["light"]]
        val asked = night?.let { Configuration().apply { uiMode = it } }
        super.attachBaseContext(asked?.let(base::createConfigurationContext) ?: base)
    }

    override fun onCreate(savedInstanceState: Bundle?) {
        super.onCreate(savedInstanceState)
        // Newer phones do so whether asked or not; so all of them have one way.
        @Suppress("DEPRECATION")
        if (Build.VERSION.SDK_INT >= 30) window.setDecorFitsSystemWindows(false)
        setContentView(page)
        savedInstanceState?.run {
            way.restore(this)
            fileFor = getString("file for")
            settings = getBoolean("settings")
            getStringArray("question")?.let { (token, label, unit, numeric, text) -> ask(token, Ask(label, numeric.toBoolean(), unit, false), text) }
        }
        book.eye = ::answered
        if (savedInstanceState == null) arrived(intent)
        if (!book.busy) go(way.address)
    }

    override fun onNewIntent(intent: Intent) {
        super.onNewIntent(intent)
        arrived(intent)
    }

    override fun onSaveInstanceState(outState: Bundle) {
        super.onSaveInstanceState(outState)
        way.place = page.rows.place()
        way.save(outState)
        outState.putString("file for", fileFor)
        outState.putBoolean("settings", settings)
        question?.takeIf { it.isShowing }?.save(outState)
    }

    override fun onDestroy() {
        book.eye = null
        question?.dismiss()
        super.onDestroy()
    }

    /** Where the person is; the tests ask. */
    internal val here get() = way.address

    private fun answered(answer: Answer) {
        when (answer) {
            is Answer.Shown -> arrive(answer.screen, answer.sent)
            is Answer.Refused -> refuse(answer.sentence)
            is Answer.Shut -> draw(own.shut(answer.trouble), null)
        }
        takeArriving()
    }

    private fun refuse(sentence: String) {
        page.refuse(sentence)
        // Nothing is drawn yet: the phone was turned, or the place that was kept is no longer there.
        if (shown == null) go("").also { late = sentence }
    }

    /** A screen came. Who comes to another one begins where they were on it; on the same one nothing moves. */
    private fun arrive(screen: Screen, sent: Boolean) {
        val before = shown
        if (before != null) way.place = page.rows.place()
        // What was entered is no longer being typed; what was refused is.
        if (sent) entering?.let { way.typed.remove(it); page.rows.forget(it) }
        entering = null
        way.walk(screen.address)
        late?.let(page::refuse) ?: page.dismiss()
        late = null
        val same = before?.address == screen.address
        draw(screen, way.place)
        if (sent && before != null && before.drawn != screen.drawn) page.tick()
        if (sent && screen.file != null) page.rows.bring("${Own.MARK} file")
        val now = screen.rows.firstOrNull { it.now }
        if (same) page.say(now?.spoken?.takeIf(String::isNotEmpty) ?: screen.title)
        if (same && now != null && now.key != before.rows.firstOrNull { it.now }?.key) page.rows.bring(now.key)
        if (before == null || before.ongoing != screen.ongoing) lasting()
        backIsOurs(way.before != null)
    }

    /** The first screen knows what is held at any site. */
    private fun lasting() = book.aside({ it.screen("") }) { if (!isDestroyed) Held.show(this, it.ongoing) }

    override fun onRequestPermissionsResult(requestCode: Int, permissions: Array<out String>, grantResults: IntArray) {
        if (grantResults.firstOrNull() == PackageManager.PERMISSION_GRANTED) lasting()
    }

    private fun draw(screen: Screen, place: Pair<String, Int>?) {
        shown = screen
        title = screen.title
        val ours = screen.file?.let(own::file).orEmpty() + own.settings(settings)
        page.show(screen, screen.rows.filter { it.body !is Body.Deeds } + ours, place, way.before != null)
    }

    private fun go(address: String) { book.ask(false) { it.screen(address) } }

    override fun press(token: String, input: String?) {
        if (bounced()) return
        if (token.startsWith(Own.MARK)) return ours(token.removePrefix(Own.MARK).trim().split(' '))
        val drawn = shown?.drawn ?: return
        book.ask(true) { it.send(Sent(token, input, drawn)) }
    }

    /** A second tap of a gloved thumb on the same spot is not a second wish. */
    private fun bounced(): Boolean {
        val (before, now) = last to down
        if (now === before) return false
        last = now
        return now.at - before.at < BOUNCE && hypot(now.x - before.x, now.y - before.y) < look.dp(24)
    }

    override fun dispatchTouchEvent(ev: MotionEvent): Boolean {
        if (ev.actionMasked == MotionEvent.ACTION_DOWN) down = Touched(ev.x, ev.y, SystemClock.uptimeMillis())
        return super.dispatchTouchEvent(ev)
    }

    override fun pick(pick: Pick) {
        val ask = pick.asks ?: return press(pick.token)
        if (bounced()) return
        if (!ask.file) return ask(pick.token, ask, "")
        fileFor = pick.token
        val open = Intent(Intent.ACTION_OPEN_DOCUMENT).addCategory(Intent.CATEGORY_OPENABLE).setType("*/*")
        attempt { startActivityForResult(open, FILE) }
    }

    /** Another app is asked, and may not be there. */
    private fun attempt(call: () -> Unit) = try {
        call()
    } catch (_: RuntimeException) {
        page.refuse(getString(R.string.no_app))
    }

    private fun ask(token: String, ask: Ask, typed: String) {
        question = Question(this, token, ask, typed, choices.ownKeys) { press(token, it) }.apply { show() }
    }

    override fun onActivityResult(requestCode: Int, resultCode: Int, data: Intent?) {
        val (token, uri) = (fileFor ?: return) to (data?.data ?: return)
        fileFor = null
        if (requestCode == FILE && resultCode == RESULT_OK) takeIn(uri) { token to (shown?.drawn ?: it.drawn) }
    }

    /** Another app sent a file: it goes to where the first screen takes files. */
    private fun arrived(intent: Intent) {
        @Suppress("DEPRECATION") // The call with a class came with SDK 33.
        val stream = intent.getParcelableExtra<Uri>(Intent.EXTRA_STREAM)
        val uri = if (intent.action == Intent.ACTION_SEND) stream else intent.data
        arriving = uri ?: arriving
        takeArriving()
    }

    private fun takeArriving() {
        val uri = arriving ?: return
        if (takeIn(uri) { first -> first.takes?.let { it to first.drawn } }) arriving = null
    }

    /** `to` says from the first screen where the file goes: a token, and what it was drawn from. */
    private fun takeIn(uri: Uri, to: (Screen) -> Pair<String, ULong>?) = book.ask(true) { notebook ->
        val (token, drawn) = to(notebook.screen("")) ?: throw IOException("no screen takes files")
        TakeIn.copied(applicationContext, uri) { path -> notebook.send(Sent(token, path, drawn)) }
    }

    override fun enter(key: String, token: String, text: String) {
        entering = key
        press(token, text)
    }

    override fun back() { way.before?.let(::go) }

    @Deprecated("Phones from SDK 33 on ask the callback instead")
    @Suppress("DEPRECATION")
    override fun onBackPressed() = if (way.before == null) super.onBackPressed() else back()

    /** From SDK 33 on the system wants to know beforehand whether a back gesture stays in the app. */
    private fun backIsOurs(ours: Boolean) {
        if (Build.VERSION.SDK_INT < 33 || ours == (leaving != null)) return
        val callback = leaving as? OnBackInvokedCallback ?: OnBackInvokedCallback(::back)
        if (ours) onBackInvokedDispatcher.registerOnBackInvokedCallback(OnBackInvokedDispatcher.PRIORITY_DEFAULT, callback)
        else onBackInvokedDispatcher.unregisterOnBackInvokedCallback(callback)
        leaving = callback.takeIf { ours }
    }

    override val typed get() = way.typed

    private fun ours(words: List<String>) {
        val file = shown?.file
        when (words[0]) {
            "share" -> file?.let { attempt { HandOut.share(this, it) } }
            "print" -> file?.let { attempt { HandOut.print(this, it) } }
            "settings" -> { settings = !settings; redraw() }
            "again" -> go(way.address)
            "new-key" -> { (application as ShellApplication).seed.setAside(); go(way.address) }
            else -> { choices[words[0]] = words[1]; if (words[0] == "light") recreate() else redraw() }
        }
    }

    private fun redraw() = shown?.let { page.forget(); draw(it, page.rows.place()) } ?: Unit
}
