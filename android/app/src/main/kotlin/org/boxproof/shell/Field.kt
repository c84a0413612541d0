package org.boxproof.shell

import android.content.Context
import android.graphics.Rect
import android.text.Editable
import android.text.InputType
import android.text.TextWatcher
import android.util.AttributeSet
import android.view.HapticFeedbackConstants
import android.view.KeyEvent
import android.view.View
import android.view.ViewGroup
import android.view.ViewStub
import android.widget.EditText
import android.widget.LinearLayout
import android.widget.TextView

/** Where something is typed: the field, its unit, and for a number large keys under it while it has the focus. */
internal class Field(context: Context, attrs: AttributeSet?) : LinearLayout(context, attrs) {
    /** A page has several: each has a name of its own, by which its label finds it. */
    val edit: EditText = inflate(context, R.layout.field, this).part<EditText>(R.id.edit).apply { id = generateViewId() }

    fun holds(text: String, unit: String, numeric: Boolean, ownKeys: Boolean) {
        put(R.id.unit, unit)
        edit.setText(text)
        edit.setSelection(text.length)
        if (numeric) edit.setRawInputType(InputType.TYPE_CLASS_NUMBER or InputType.TYPE_NUMBER_FLAG_DECIMAL)
        if (!numeric || !ownKeys) return
        edit.showSoftInputOnFocus = false
        edit.setOnFocusChangeListener { _, focused -> if (focused) bringKeys() }
    }

    fun changes(changed: (String) -> Unit) = edit.addTextChangedListener(object : TextWatcher {
        override fun beforeTextChanged(s: CharSequence, start: Int, count: Int, after: Int) = Unit
        override fun onTextChanged(s: CharSequence, start: Int, before: Int, count: Int) = Unit
        override fun afterTextChanged(s: Editable) = changed(s.toString())
    })

    /** Entering by the keyboard's own key, or by a button: the one beside it, or another. */
    fun enters(button: View = part<ViewStub>(R.id.enter).inflate(), enter: (String) -> Unit) {
        button.setOnClickListener { enter(edit.text.toString()) }
        edit.setOnEditorActionListener { _, _, event ->
            // A key of a real keyboard comes twice, down and up.
            if (event == null || event.action == KeyEvent.ACTION_DOWN) button.callOnClick()
            true
        }
    }

    private fun bringKeys() {
        val keys = findViewById<ViewStub>(R.id.keys)?.inflate() as? ViewGroup ?: return
        for (n in 0 until keys.childCount) keys.getChildAt(n).setOnClickListener(::strike)
        post { requestRectangleOnScreen(Rect(0, 0, width, height)) }
    }

    private fun strike(key: View) {
        val digit = if (key.id == R.id.delete) "" else (key as TextView).text
        val (from, to) = minOf(edit.selectionStart, edit.selectionEnd) to maxOf(edit.selectionStart, edit.selectionEnd)
        val start = if (digit.isEmpty() && from == to) from - 1 else from
        edit.text.replace(start.coerceAtLeast(0), to.coerceAtLeast(0), digit)
        performHapticFeedback(HapticFeedbackConstants.KEYBOARD_TAP)
    }
}
