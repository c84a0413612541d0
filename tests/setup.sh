# What ./try and ./check need on a Debian machine that has nothing but git and certificates. Sourced by both.

say() { printf '\n== %s\n' "$*"; }

# Installs the Debian packages that are not there yet; as root, or through sudo.
need() {
  local missing=()
  for package in "$@"; do
    dpkg-query -W -f='${Status}' "$package" 2>/dev/null | grep -q 'ok installed' || missing+=("$package")
  done
  [ ${#missing[@]} -eq 0 ] && return 0
  local root=()
  if [ "$(id -u)" != 0 ]; then
    command -v sudo >/dev/null || { echo "These Debian packages are missing: ${missing[*]}. Install them, then run this again." >&2; return 2; }
    root=(sudo)
  fi
  say "Installing ${missing[*]}"
  "${root[@]}" apt-get update -qq
  DEBIAN_FRONTEND=noninteractive "${root[@]}" apt-get install -y -qq --no-install-recommends "${missing[@]}" >/dev/null
}

# Rust from the machine if it is new enough, else Debian's newest.
need_rust() {
  local wanted have
  wanted=$(sed -n 's/^rust-version = "\(.*\)"/\1/p' Cargo.toml)
  have=$(rustc --version 2>/dev/null | cut -d' ' -f2 | cut -d- -f1 || true)
  if [ -n "$have" ] && [ "$(printf '%s\n%s\n' "$wanted" "$have" | sort -V | head -n 1)" = "$wanted" ] && command -v cargo >/dev/null; then
    command -v cc >/dev/null || need gcc libc6-dev
    return 0
  fi
  need cargo-web gcc libc6-dev
}

# axe-core for the browser tests: one pinned wheel, kept under target/ so that later runs need no network.
need_axe() {
  local list=tests/browser/axe-requirements.txt wanted
  wanted=$(sed -n 's/.*--hash=sha256:\([0-9a-f]*\).*/\1/p' "$list")
  mkdir -p target/axe
  sha256sum target/axe/*.whl 2>/dev/null | grep -q "^$wanted " && return 0
  need python3-pip
  say "Downloading axe-core, for the tests alone"
  /usr/bin/python3 -m pip download -q --disable-pip-version-check --no-deps --only-binary :all: --require-hashes \
    -r "$list" -d target/axe
}
