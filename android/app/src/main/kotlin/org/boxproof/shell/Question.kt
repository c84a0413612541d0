package org.boxproof.shell

import android.app.Dialog
import android.content.Context
import android.os.Bundle
import android.view.Gravity
import android.view.View
import android.view.ViewGroup.LayoutParams.MATCH_PARENT
import android.view.ViewGroup.LayoutParams.WRAP_CONTENT
import android.view.WindowManager.LayoutParams.SOFT_INPUT_STATE_HIDDEN
import android.view.WindowManager.LayoutParams.SOFT_INPUT_STATE_VISIBLE
import org.boxproof.core.Ask

/** Asks for a text or a number before a token is sent. It is kept with its text when the phone is turned. */
internal class Question(context: Context, private val token: String, private val ask: Ask, typed: String, ownKeys: Boolean,
    answered: (String) -> Unit) : Dialog(context, R.style.Question) {
    private val page = View.inflate(context, R.layout.question, null)
    private val field = page.part<Field>(R.id.field)

    init {
        setTitle(ask.label)
        page.put(R.id.label, ask.label).labelFor = field.edit.id
        page.pressed(R.id.leave, ::dismiss)
        field.holds(typed, ask.unit, ask.numeric, ownKeys)
        field.enters(page.part(R.id.answer)) { text -> dismiss(); answered(text) }
        setContentView(page)
        window?.run {
            setGravity(Gravity.BOTTOM)
            setLayout(MATCH_PARENT, WRAP_CONTENT)
            setSoftInputMode(if (field.edit.showSoftInputOnFocus) SOFT_INPUT_STATE_VISIBLE else SOFT_INPUT_STATE_HIDDEN)
        }
        field.edit.requestFocus()
    }

    fun save(to: Bundle) = to.putStringArray("question",
        arrayOf(token, ask.label, ask.unit, ask.numeric.toString(), field.edit.text.toString()))
}
