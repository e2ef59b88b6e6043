# Sourced by first_run.sh and tests/run.sh: the Debian packages the project needs, and how they come.

BUILD_PACKAGES=(
  g++ cmake ninja-build pkg-config
  libeigen3-dev liblcms2-dev libjpeg-dev libpng-dev libtiff-dev libraw-dev libheif-dev libwebp-dev libhwy-dev
  libopencv-dev libopencv-contrib-dev nlohmann-json3-dev libpugixml-dev libzip-dev libcli11-dev
)
TEST_PACKAGES=(libgtest-dev libgmock-dev python3 python3-venv python3-dev locales chromium firefox-esr poppler-utils)

say() { printf '== %s (%d:%02d)\n' "$*" $((SECONDS / 60)) $((SECONDS % 60)); }
fail() { printf 'error: %s\n' "$*" >&2; exit 1; }

# Installs by apt what is missing; does nothing, and needs no network, when all is there.
need_packages() {
  local missing=() package
  command -v dpkg-query >/dev/null || fail "this script installs Debian packages, but dpkg-query is not here: install $* by hand and run the cmake commands of DEVELOPERS.md"
  for package in "$@"; do
    dpkg-query -W -f='${Status}' "$package" 2>/dev/null | grep -q 'install ok installed' || missing+=("$package")
  done
  [ ${#missing[@]} -eq 0 ] && return
  local as_root=()
  if [ "$(id -u)" -ne 0 ]; then
    command -v sudo >/dev/null || fail "not root and no sudo: ask an administrator to apt-get install ${missing[*]}"
    as_root=(sudo)
  fi
  say "Installing by apt: ${missing[*]}"
  "${as_root[@]}" apt-get update -qq || fail "apt-get update failed: check the network, then run this again"
  "${as_root[@]}" env DEBIAN_FRONTEND=noninteractive apt-get install -y -qq --no-install-recommends "${missing[@]}" >/dev/null \
    || fail "apt-get could not install ${missing[*]}: see its message above"
}

# For a build from nothing: most of a compiler's time goes into headers, which several sources compiled as
# one read once.
WHOLE_BUILD=(-DCMAKE_UNITY_BUILD=ON -DCMAKE_UNITY_BUILD_BATCH_SIZE=16)

# configure_and_build FOLDER [--only "TARGET …"] [cmake option …]: quiet unless it fails.
configure_and_build() {
  local folder=$1 log=$1/build.log targets=()
  shift
  if [ "${1:-}" = --only ]; then
    read -ra targets <<<"--target $2"
    shift 2
  fi
  mkdir -p "$folder"
  local launcher=()
  command -v ccache >/dev/null && launcher=(-DCMAKE_CXX_COMPILER_LAUNCHER=ccache)
  say "Building in $folder (a few minutes the first time; the log is $log)"
  { cmake -S . -B "$folder" -G Ninja -DCMAKE_BUILD_TYPE=Release "${launcher[@]}" "${WHOLE_BUILD[@]}" "$@" && cmake --build "$folder" "${targets[@]}"; } >"$log" 2>&1 \
    || { tail -n 30 "$log" >&2; fail "the build failed: the end of $log is above"; }
}
