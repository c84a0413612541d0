package org.boxproof.shell

import android.content.Context
import android.graphics.Canvas
import android.graphics.Rect
import android.graphics.RectF
import android.os.Bundle
import android.view.GestureDetector
import android.view.KeyEvent
import android.view.MotionEvent
import android.view.ScaleGestureDetector
import android.view.View
import android.view.accessibility.AccessibilityEvent
import android.view.accessibility.AccessibilityNodeInfo
import android.view.accessibility.AccessibilityNodeProvider
import android.widget.Button
import org.boxproof.core.Body
import org.boxproof.core.Touch
import kotlin.math.abs
import kotlin.math.roundToInt

/** A picture of shapes with places to touch. It fills the width; a wider one pans, and two fingers make any larger. */
internal class PictureView(context: Context, private val look: Look, private val body: Body.Drawing, spoken: String,
    private val touched: (String) -> Unit) : View(context) {
    private val painter = Painter(look)
    private val wide = body.width.toFloat().coerceAtLeast(1f)
    private var zoom = 1f
    private var left = 0f
    private var top = 0f

    /** The place that the keyboard is on. */
    private var at = -1

    /** Told whether the picture is wider than its view. */
    var wider: (Boolean) -> Unit = {}

    private val fit get() = (width / look.dp(wide)).coerceIn(1f, LARGEST)
    private val scale get() = look.dp(fit * zoom)

    private val pinch = ScaleGestureDetector(context, object : ScaleGestureDetector.SimpleOnScaleGestureListener() {
        override fun onScale(detector: ScaleGestureDetector): Boolean {
            val (x, y) = (left + detector.focusX) / scale to (top + detector.focusY) / scale
            zoom = (zoom * detector.scaleFactor).coerceIn(1f, 3f)
            move(x * scale - detector.focusX, y * scale - detector.focusY)
            return true
        }
    })
    private val finger = GestureDetector(context, object : GestureDetector.SimpleOnGestureListener() {
        override fun onDown(e: MotionEvent) = true
        override fun onSingleTapUp(e: MotionEvent): Boolean {
            place((left + e.x) / scale, (top + e.y) / scale)?.let { performClick(); touched(it.token) }
            return true
        }
        override fun onScroll(e1: MotionEvent?, e2: MotionEvent, distanceX: Float, distanceY: Float): Boolean {
            // Sideways is the picture's, up and down is the page's, unless the picture has been made larger.
            if (zoom > 1f || abs(distanceX) > abs(distanceY) && wide * scale > width) parent.requestDisallowInterceptTouchEvent(true)
            move(left + distanceX, top + distanceY)
            return true
        }
    })

    init {
        contentDescription = spoken
        isFocusable = body.places.isNotEmpty()
        importantForAccessibility = IMPORTANT_FOR_ACCESSIBILITY_YES
    }

    override fun onMeasure(widthMeasureSpec: Int, heightMeasureSpec: Int) {
        val width = MeasureSpec.getSize(widthMeasureSpec)
        val fit = (width / look.dp(wide)).coerceIn(1f, LARGEST)
        setMeasuredDimension(width, look.dp(body.height.toFloat() * fit).roundToInt())
    }

    override fun onSizeChanged(w: Int, h: Int, oldw: Int, oldh: Int) {
        move(left, top)
        val over = look.dp(wide * fit) > w + 1
        // Not in the middle of a layout: the buttons come in with the next one.
        post { wider(over) }
    }

    private fun move(x: Float, y: Float) {
        val (over, under) = wide * scale - width to body.height.toFloat() * scale - height
        left = if (over < 0) over / 2 else x.coerceIn(0f, over)
        top = y.coerceIn(0f, under.coerceAtLeast(0f))
        invalidate()
    }

    /** To one side, by most of what is seen. */
    fun pan(way: Int) = move(left + way * width * 0.8f, top)

    override fun onDraw(canvas: Canvas) {
        canvas.translate(-left, -top)
        canvas.scale(scale, scale)
        painter.draw(canvas, body.coats)
        body.places.getOrNull(at)?.takeIf { isFocused }?.let {
            painter.stroke(canvas, box(it).run { box(left, top, right, bottom) }, "picture_ink", 4f, floatArrayOf(8f, 3f))
        }
    }

    private fun box(it: Touch) = RectF(it.x.toFloat(), it.y.toFloat(), (it.x + it.width).toFloat(), (it.y + it.height).toFloat())
    private fun place(x: Float, y: Float) = body.places.lastOrNull { box(it).contains(x, y) }

    @Suppress("ClickableViewAccessibility") // A press is a click in onSingleTapUp.
    override fun onTouchEvent(event: MotionEvent): Boolean {
        if (event.pointerCount > 1) parent.requestDisallowInterceptTouchEvent(true)
        pinch.onTouchEvent(event)
        if (!pinch.isInProgress) finger.onTouchEvent(event)
        return true
    }

    /** Arrows go from place to place in order; past the last one the focus leaves the picture. */
    override fun onKeyDown(keyCode: Int, event: KeyEvent): Boolean {
        val step = when (keyCode) {
            KeyEvent.KEYCODE_DPAD_DOWN, KeyEvent.KEYCODE_DPAD_RIGHT -> 1
            KeyEvent.KEYCODE_DPAD_UP, KeyEvent.KEYCODE_DPAD_LEFT -> -1
            KeyEvent.KEYCODE_ENTER, KeyEvent.KEYCODE_DPAD_CENTER, KeyEvent.KEYCODE_SPACE ->
                return body.places.getOrNull(at)?.let { touched(it.token); true } ?: false
            else -> return super.onKeyDown(keyCode, event)
        }
        if (at + step !in body.places.indices) return false
        at += step
        val now = box(body.places[at])
        move(if (now.left * scale < left || now.right * scale > left + width) now.left * scale else left, top)
        requestRectangleOnScreen(Rect().also { bounds(now).round(it) })
        return true
    }

    private fun bounds(box: RectF) = RectF(box.left * scale - left, box.top * scale - top, box.right * scale - left, box.bottom * scale - top)

    /** Each place is a node of its own, so that a screen reader can find and press it. */
    override fun getAccessibilityNodeProvider() = object : AccessibilityNodeProvider() {
        @Suppress("DEPRECATION") // The constructors that replace obtain() came with SDK 30.
        override fun createAccessibilityNodeInfo(virtualViewId: Int): AccessibilityNodeInfo? {
            val view = this@PictureView
            if (virtualViewId == HOST_VIEW_ID) return AccessibilityNodeInfo.obtain(view).apply {
                view.onInitializeAccessibilityNodeInfo(this)
                body.places.indices.forEach { addChild(view, it) }
            }
            val place = body.places.getOrNull(virtualViewId) ?: return null
            return AccessibilityNodeInfo.obtain(view, virtualViewId).apply {
                setParent(view)
                packageName = context.packageName
                className = Button::class.java.name
                contentDescription = place.spoken
                isEnabled = true
                isClickable = true
                isFocusable = true
                isVisibleToUser = view.isShown
                addAction(AccessibilityNodeInfo.AccessibilityAction.ACTION_CLICK)
                val origin = IntArray(2).also(view::getLocationOnScreen)
                setBoundsInScreen(Rect().also { bounds(box(place)).round(it) }.apply { offset(origin[0], origin[1]) })
            }
        }

        override fun performAction(virtualViewId: Int, action: Int, arguments: Bundle?): Boolean {
            val place = body.places.getOrNull(virtualViewId)
            if (place == null || action != AccessibilityNodeInfo.ACTION_CLICK) return false
            sendAccessibilityEvent(AccessibilityEvent.TYPE_VIEW_CLICKED)
            touched(place.token)
            return true
        }
    }

    private companion object {
        /** On a page lying down, not so large that half of it is out of sight. */
        const val LARGEST = 1.4f
    }
}
