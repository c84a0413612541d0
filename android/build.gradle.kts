// The Android plugin compiles Kotlin itself; this is the version that it shall do so with.
buildscript {
    dependencies {
        classpath(libs.kotlin.gradle.plugin)
    }
}

plugins {
    alias(libs.plugins.android.application) apply false
}
