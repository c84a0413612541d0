#!/usr/bin/env bash
# Checks that manifest, resources and shrunk classes make an installable package, signed with a key of this run alone.
# Needs what `mvn test` left in target/. The core's library is not in it: that takes the NDK.
set -euo pipefail
cd "$(dirname "$0")"
out=target/apk
rm -rf "$out"
mkdir -p "$out/in" "$out/dex"

property() { sed -n "s:.*<$1>\(.*\)</$1>.*:\1:p" pom.xml; }
oldest=$(property oldest.sdk)
mvn -q -B -ntp dependency:copy-dependencies -DincludeScope=runtime -DoutputDirectory="$out/in"
mvn -q -B -ntp dependency:copy-dependencies -DincludeScope=provided -DincludeArtifactIds=android-all -DoutputDirectory="$out/framework"
mvn -q -B -ntp dependency:copy -Dartifact="com.android.tools:r8:$(property r8.version)" -DoutputDirectory="$out"
(cd target/classes && find . -name '*.class' ! -path './META-INF/*' | jar --create --file ../apk/in/app.jar @/dev/stdin)

# The framework has no java.*; the JDK's own stands in for it.
jdk=$(java -XshowSettings:properties -version 2>&1 | sed -n 's/^ *java\.home = //p')
java -Xmx1g -cp "$out/r8-$(property r8.version).jar" com.android.tools.r8.R8 --release --min-api "$oldest" \
  --lib "$out"/framework/android-all-*.jar --lib "$jdk" \
  --pg-conf ../app/proguard-rules.pro --pg-conf target/android/keep-from-manifest.pro \
  --output "$out/dex" "$out"/in/*.jar

# Flow stands in layouts alone: its name is kept by what aapt2 wrote.
for class in shell/MainActivity shell/ShellApplication shell/HandOut shell/Flow core/Notebook core/Outside; do
  grep -aq "Lorg/boxproof/$class;" "$out/dex/classes.dex" || { echo "Shrinking threw away $class." >&2; exit 1; }
done

cp target/android/resources.apk "$out/unaligned.apk"
(cd "$out/dex" && zip -q ../unaligned.apk classes*.dex)
zipalign -f -p 4 "$out/unaligned.apk" "$out/aligned.apk"
keytool -genkeypair -keystore "$out/check.p12" -storetype PKCS12 -storepass checkonly -alias check \
  -keyalg EC -groupname secp256r1 -validity 30 -dname CN=check 2>/dev/null
apksigner sign --ks "$out/check.p12" --ks-pass pass:checkonly --min-sdk-version "$oldest" \
  --out "$out/checked.apk" "$out/aligned.apk"
zipalign -c -p 4 "$out/checked.apk"
apksigner verify --verbose --min-sdk-version "$oldest" "$out/checked.apk" | grep -E '^Verified using v[23] scheme.*: true'
echo "The package without the core's library: $(stat -c %s "$out/checked.apk") bytes, $PWD/$out/checked.apk"
