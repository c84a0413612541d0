package org.boxproof.shell

import android.app.Activity
import android.content.ContentProvider
import android.content.ContentValues
import android.content.Context
import android.content.Intent
import android.database.Cursor
import android.database.MatrixCursor
import android.net.Uri
import android.os.ParcelFileDescriptor
import android.print.PrintAttributes
import android.print.PrintManager
import android.provider.OpenableColumns
import android.webkit.WebView
import android.webkit.WebViewClient
import org.boxproof.core.FileOut
import java.io.File
import java.io.FileNotFoundException

/** Lets another app read a file that a screen handed out, one address at a time and only while it was allowed to. */
class HandOut : ContentProvider() {
    override fun onCreate() = true

    override fun openFile(uri: Uri, mode: String): ParcelFileDescriptor {
        if (mode != "r") throw FileNotFoundException("$uri is only read")
        return ParcelFileDescriptor.open(file(uri), ParcelFileDescriptor.MODE_READ_ONLY)
    }

    override fun query(uri: Uri, projection: Array<String>?, selection: String?, args: Array<String>?, order: String?): Cursor {
        val file = file(uri)
        val known = mapOf(OpenableColumns.DISPLAY_NAME to file.name, OpenableColumns.SIZE to file.length())
        val columns = (projection ?: known.keys.toTypedArray()).filter(known::containsKey)
        return MatrixCursor(columns.toTypedArray(), 1).apply { addRow(columns.map(known::get)) }
    }

    override fun getType(uri: Uri) = uri.getQueryParameter("media")
    override fun insert(uri: Uri, values: ContentValues?) = null
    override fun delete(uri: Uri, selection: String?, args: Array<String>?) = 0
    override fun update(uri: Uri, values: ContentValues?, selection: String?, args: Array<String>?) = 0

    /** The file of an address: one in the folder of what is handed out, and no other, whatever the address says. */
    private fun file(uri: Uri): File {
        val out = File((context?.applicationContext as ShellApplication).folder, "out").canonicalFile
        val file = File(out, uri.lastPathSegment.orEmpty()).canonicalFile
        if (file.parentFile != out || !file.isFile) throw FileNotFoundException("$uri is not handed out")
        return file
    }

    companion object {
        /** Held until it is laid out; nobody else does. */
        internal var printing: WebView? = null
            private set

        private fun address(file: FileOut) = Uri.Builder().scheme("content").authority("org.boxproof.shell.out")
            .appendPath(File(file.path).name).appendQueryParameter("media", file.media).build()

        fun share(activity: Activity, file: FileOut) {
            val send = Intent(Intent.ACTION_SEND).setType(file.media).putExtra(Intent.EXTRA_STREAM, address(file))
                .putExtra(Intent.EXTRA_SUBJECT, file.name).addFlags(Intent.FLAG_GRANT_READ_URI_PERMISSION)
            // The chooser passes the permission on from the clip, not from the extra.
            send.clipData = android.content.ClipData.newRawUri(file.name, address(file))
            activity.startActivity(Intent.createChooser(send, file.name).addFlags(Intent.FLAG_GRANT_READ_URI_PERMISSION))
        }

        /** Prints a page through the system's print service, which also makes a PDF of it. */
        fun print(activity: Activity, file: FileOut) {
            val view = WebView(activity).also { printing = it }
            view.settings.run { javaScriptEnabled = false; allowContentAccess = false; blockNetworkLoads = true }
            view.webViewClient = object : WebViewClient() {
                override fun onPageFinished(view: WebView, url: String?) {
                    printing = null
                    val printer = activity.getSystemService(Context.PRINT_SERVICE) as? PrintManager
                    printer?.print(file.name, view.createPrintDocumentAdapter(file.name), PrintAttributes.Builder().build())
                }
            }
            view.loadDataWithBaseURL(null, File(file.path).readText(), file.media, "utf-8", null)
        }
    }
}
