import javax.inject.Inject
import org.gradle.process.ExecOperations
import org.jetbrains.kotlin.gradle.dsl.JvmTarget

plugins {
    alias(libs.plugins.android.application)
}

val sdkMin = libs.versions.sdk.min.get().toInt()
val sdkTarget = libs.versions.sdk.target.get().toInt()

android {
    namespace = "org.boxproof.shell"
    compileSdk = sdkTarget
    ndkVersion = libs.versions.ndk.get()

    defaultConfig {
        applicationId = "org.boxproof.shell"
        minSdk = sdkMin
        targetSdk = sdkTarget
        versionCode = 1
        versionName = "0.1.0"
    }

    // The generated bindings stand beside the crate that they are made from.
    sourceSets.named("main") {
        kotlin.directories += "../../bindings/phone/kotlin"
    }

    buildTypes {
        release {
            isMinifyEnabled = true
            isShrinkResources = true
            proguardFiles(getDefaultProguardFile("proguard-android-optimize.txt"), "proguard-rules.pro")
        }
    }

    compileOptions {
        sourceCompatibility = JavaVersion.VERSION_17
        targetCompatibility = JavaVersion.VERSION_17
    }

    lint {
        warningsAsErrors = true
    }
}

kotlin {
    compilerOptions {
        jvmTarget = JvmTarget.JVM_17
        allWarningsAsErrors = true
    }
}

dependencies {
    implementation(variantOf(libs.jna) { artifactType("aar") })
}

/** Builds the core for each kind of phone. What is up to date is cargo's to say. */
abstract class CargoNdk @Inject constructor(private val run: ExecOperations) : DefaultTask() {
    @get:Internal
    abstract val workspace: DirectoryProperty

    @get:Input
    abstract val platform: Property<Int>

    @get:OutputDirectory
    abstract val out: DirectoryProperty

    @TaskAction
    fun build() {
        val abis = listOf("arm64-v8a", "armeabi-v7a", "x86_64").flatMap { listOf("-t", it) }
        run.exec {
            workingDir(workspace)
            // Pages of 16 KB are what newer phones have; those with 4 KB load the same file.
            environment("RUSTFLAGS", "-C link-arg=-Wl,-z,max-page-size=16384")
            commandLine(
                listOf("cargo", "ndk", "--platform", platform.get().toString(), "-o", out.get().asFile.path) + abis +
                    listOf("build", "--locked", "--release", "-p", "boxproof-phone"),
            )
        }
    }
}

val cargoNdk = tasks.register<CargoNdk>("cargoNdk") {
    workspace = rootProject.layout.projectDirectory.dir("..")
    platform = sdkMin
    outputs.upToDateWhen { false }
}

androidComponents {
    onVariants { variant ->
        variant.sources.jniLibs?.addGeneratedSourceDirectory(cargoNdk, CargoNdk::out)
    }
}
