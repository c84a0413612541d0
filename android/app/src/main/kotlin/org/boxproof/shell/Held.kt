package org.boxproof.shell

import android.Manifest
import android.app.Activity
import android.app.Notification
import android.app.NotificationChannel
import android.app.NotificationManager
import android.app.PendingIntent
import android.content.Intent
import android.content.pm.PackageManager
import android.os.Build

/** The lasting notification while something is held, in the core's own line. It stays when the app is left. */
internal object Held {
    private const val CHANNEL = "held"
    private const val ID = 1

    fun show(activity: Activity, words: String?) {
        val manager = activity.getSystemService(NotificationManager::class.java) ?: return
        if (words == null) return manager.cancel(ID)
        if (Build.VERSION.SDK_INT >= 33 && !allowed(activity)) activity.requestPermissions(arrayOf(Manifest.permission.POST_NOTIFICATIONS), ID)
        val channel = NotificationChannel(CHANNEL, activity.getString(R.string.held), NotificationManager.IMPORTANCE_LOW)
        channel.lockscreenVisibility = Notification.VISIBILITY_PUBLIC
        manager.createNotificationChannel(channel)
        val open = Intent(activity, MainActivity::class.java).setAction(Intent.ACTION_MAIN).addCategory(Intent.CATEGORY_LAUNCHER)
        val tap = PendingIntent.getActivity(activity, 0, open, PendingIntent.FLAG_IMMUTABLE or PendingIntent.FLAG_UPDATE_CURRENT)
        val notification = Notification.Builder(activity, CHANNEL).setSmallIcon(R.drawable.mark).setContentTitle(words)
            .setStyle(Notification.BigTextStyle().bigText(words)).setColor(activity.getColor(R.color.ink))
            .setVisibility(Notification.VISIBILITY_PUBLIC).setOngoing(true).setOnlyAlertOnce(true).setContentIntent(tap)
        manager.notify(ID, notification.build())
    }

    private fun allowed(activity: Activity) =
        activity.checkSelfPermission(Manifest.permission.POST_NOTIFICATIONS) == PackageManager.PERMISSION_GRANTED
}
