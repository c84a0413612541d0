package org.boxproof.shell

import android.app.Dialog
import android.content.Context
import android.os.Bundle
import android.view.Gravity
import android.view.Window
import android.view.WindowManager.LayoutParams.SOFT_INPUT_STATE_HIDDEN
import android.view.WindowManager.LayoutParams.SOFT_INPUT_STATE_VISIBLE
import android.widget.LinearLayout
import android.widget.ScrollView
import org.boxproof.core.Ask

/** Asks for a text or a number before a token is sent. It is kept with its text when the phone is turned. */
internal class Question(context: Context, look: Look, private val token: String, private val ask: Ask, typed: String,
    ownKeys: Boolean, answered: (String) -> Unit) : Dialog(context) {
    private val field = Field(context, look, ask.numeric, ownKeys)

    init {
        requestWindowFeature(Window.FEATURE_NO_TITLE)
        setTitle(ask.label)
        val page = LinearLayout(context).apply {
            orientation = LinearLayout.VERTICAL
            background = look.frame(R.color.ink, 3f)
            look.dp(16).let { setPadding(it, it, it, it) }
        }
        page.addView(look.words(ask.label, R.dimen.type_row, weight = 700).apply { labelFor = field.edit.id; setPadding(0, 0, 0, look.dp(8)) })
        page.addView(field, LinearLayout.LayoutParams(MATCH, WRAP))
        val enter = { text: String -> dismiss(); answered(text) }
        field.holds(typed, ask.unit, "") {}.enters(button = false, enter)
        val ends = Flow(context, look.px(R.dimen.space_target_gap), even = true).apply { setPadding(0, look.dp(12), 0, 0) }
        ends.put(button(look, context.getString(R.string.leave), R.dimen.type_body).apply { setOnClickListener { dismiss() } })
        ends.put(button(look, context.getString(R.string.enter), R.dimen.type_body, main = true).apply {
            setOnClickListener { enter(field.edit.text.toString()) }
        })
        page.addView(ends, LinearLayout.LayoutParams(MATCH, WRAP))
        setContentView(ScrollView(context).apply { addView(page, MATCH, WRAP) }, LinearLayout.LayoutParams(MATCH, WRAP))
        window?.run {
            setBackgroundDrawable(null)
            setGravity(Gravity.BOTTOM)
            setLayout(MATCH, WRAP)
            setSoftInputMode(if (field.edit.showSoftInputOnFocus) SOFT_INPUT_STATE_VISIBLE else SOFT_INPUT_STATE_HIDDEN)
        }
        field.edit.requestFocus()
        field.bringKeys()
    }

    fun save(to: Bundle) = to.putStringArray("question",
        arrayOf(token, ask.label, ask.unit, ask.numeric.toString(), field.edit.text.toString()))
}
