package org.boxproof.shell

import android.content.Context
import android.text.Editable
import android.text.InputType
import android.text.TextWatcher
import android.view.HapticFeedbackConstants
import android.view.View
import android.view.inputmethod.EditorInfo
import android.widget.Button
import android.widget.EditText
import android.widget.LinearLayout

/** Where something is typed: the field, its unit, and for a number large keys under it while it has the focus. */
internal class Field(context: Context, private val look: Look, private val numeric: Boolean, private val ownKeys: Boolean) :
    LinearLayout(context) {
    val edit = look.dress(EditText(context), "", R.dimen.type_row, R.color.ink, 600).apply {
        id = View.generateViewId()
        background = look.frame(R.color.ink, 2f)
        minimumHeight = look.px(R.dimen.touch_min)
        setPadding(look.dp(10), look.dp(4), look.dp(10), look.dp(4))
        inputType = InputType.TYPE_CLASS_TEXT or InputType.TYPE_TEXT_FLAG_NO_SUGGESTIONS
        if (numeric) setRawInputType(InputType.TYPE_CLASS_NUMBER or InputType.TYPE_NUMBER_FLAG_DECIMAL)
        imeOptions = EditorInfo.IME_ACTION_DONE or EditorInfo.IME_FLAG_NO_EXTRACT_UI
        // The way keeps what is typed; the framework must not put back an older text.
        isSaveEnabled = false
        showSoftInputOnFocus = !(numeric && ownKeys)
    }
    private val line = Flow(context, look.px(R.dimen.space_target_gap))

    init {
        orientation = VERTICAL
        addView(line, LayoutParams(MATCH, WRAP))
        line.put(edit, basis = look.rem(8f), grow = 1f)
        if (numeric && ownKeys) edit.setOnFocusChangeListener { _, focused -> if (focused) bringKeys() }
    }

    fun holds(text: String, unit: String, label: String, changed: (String) -> Unit) = apply {
        edit.setText(text)
        edit.setSelection(text.length)
        if (unit.isNotEmpty()) line.put(look.words(unit, R.dimen.type_row, weight = 700))
        // A field that is named by a view outside is found by its label; one in a dialog has its hint.
        if (label.isNotEmpty()) edit.hint = label
        edit.addTextChangedListener(object : TextWatcher {
            override fun beforeTextChanged(s: CharSequence, start: Int, count: Int, after: Int) = Unit
            override fun onTextChanged(s: CharSequence, start: Int, before: Int, count: Int) = Unit
            override fun afterTextChanged(s: Editable) = changed(s.toString())
        })
    }

    /** Entering by the keyboard's own key, and by a button beside it if there is to be one. */
    fun enters(button: Boolean, enter: (String) -> Unit) = apply {
        edit.setOnEditorActionListener { _, _, event ->
            // A key of a real keyboard comes twice, down and up.
            if (event == null || event.action == android.view.KeyEvent.ACTION_DOWN) enter(edit.text.toString())
            true
        }
        if (button) line.put(key(context.getString(R.string.enter), R.dimen.type_body) { enter(edit.text.toString()) }, look.rem(5f))
    }

    fun bringKeys() {
        if (childCount > 1 || !(numeric && ownKeys)) return
        val keys = Flow(context, look.px(R.dimen.space_target_gap), even = true, most = 3)
        for (digit in "123456789.0") {
            keys.put(key(digit.toString(), R.dimen.type_title) { strike(digit.toString()) }.apply {
                if (digit == '.') contentDescription = context.getString(R.string.point)
            })
        }
        keys.put(key(context.getString(R.string.delete), R.dimen.type_row) { strike(null) })
        for (n in 0 until keys.childCount) keys.getChildAt(n).apply {
            minimumHeight = look.px(R.dimen.touch_action)
            // Who has a tab key has real keys; and the caret stays where it is.
            isFocusable = false
        }
        addView(keys, LayoutParams(MATCH, WRAP).apply { topMargin = look.px(R.dimen.space_target_gap) })
        post { requestRectangleOnScreen(android.graphics.Rect(0, 0, width, height)) }
    }

    private fun strike(digit: String?) {
        val (from, to) = minOf(edit.selectionStart, edit.selectionEnd) to maxOf(edit.selectionStart, edit.selectionEnd)
        val start = if (digit == null && from == to) (from - 1).coerceAtLeast(0) else from
        edit.text.replace(start.coerceAtLeast(0), to.coerceAtLeast(0), digit.orEmpty())
        performHapticFeedback(HapticFeedbackConstants.KEYBOARD_TAP)
    }

    private fun key(words: String, size: Int, press: () -> Unit) = button(look, words, size).apply { setOnClickListener { press() } }
}

/** A button of the house: plum frame, words in the middle, large enough for a glove. */
internal fun button(look: Look, words: CharSequence, size: Int, main: Boolean = false, on: Boolean = false): Button {
    val button = look.dress(Button(look.context, null, 0, 0), words, size, if (main) R.color.on_act else R.color.act, 600)
    val line = if (on) look.px(R.dimen.line_choice_on) / look.dp(1f) else 2f
    val inside = if (main) R.color.act else if (on) R.color.pale else R.color.paper
    look.pressed(button, look.frame(R.color.act, line, inside))
    button.gravity = android.view.Gravity.CENTER
    button.textAlignment = View.TEXT_ALIGNMENT_GRAVITY
    button.minHeight = look.px(R.dimen.touch_min)
    button.minWidth = look.px(R.dimen.touch_min)
    button.setPadding(look.dp(6), look.dp(4), look.dp(6), look.dp(4))
    return button
}
