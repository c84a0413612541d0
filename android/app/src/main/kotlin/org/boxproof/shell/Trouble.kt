package org.boxproof.shell

/** Why the notebook is shut. It is shown as a screen like any other. */
internal class Trouble(val title: Int, val text: String, val newKey: Boolean = false, val cause: Throwable? = null)
