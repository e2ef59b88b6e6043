#!/usr/bin/env bash
# dependencies.sh FOLDER wasm|native: the libraries that mamelon needs, as static archives in
# FOLDER/wasm or FOLDER/native, built from Debian's source packages with Debian's patches.
#
# apt checks what it fetches against Debian's signatures. The upstream archives are pinned as well;
# where Debian has gone on to another upstream version, that one is taken and the build says so.
set -euo pipefail
cd "$(dirname "$0")/../.."
source examples/packages.sh
[ "$#" -eq 2 ] || fail "usage: dependencies.sh FOLDER wasm|native"
mkdir -p "$1"
folder=$(cd "$1" && pwd)
target=$2
sources=$folder/sources
out=$folder/$target
mkdir -p "$sources" "$out/include" "$out/lib"

pinned="
71feb7947e3c00ef125f83b79a4e529bde31171e5babe48b391f06758d1ab0a1 zlib_1.2.13.dfsg.orig.tar.bz2
a00e9d2f2f664186e4202db9299397f851aea71b36a35e74910b8820e380d441 libpng1.6_1.6.39.orig.tar.gz
254f3642b04e309fee775123133c6464181addc150499561020312ec61c1bf7c libjpeg-turbo_2.1.5.orig.tar.gz
638f43d7dea33948d5dee7f39572fc0194d9cc3c74195de9dd26a4388a1f880a tiff_4.5.0.orig.tar.bz2
28474ea6f6591c4d4cee972123587001a4e6e353412a41b3e9e82219818d5740 lcms2_2.14.orig.tar.gz
40a59ba7e5c18a43652de0a08733c9843a39bba619b1f3e26a5fac4a6f041423 opencv_4.6.0+dfsg.orig.tar.xz
3bba7c17e4a4a8b995c60904453dfc39315b3bea50e14008fd851afe7a1ff798 opencv_4.6.0+dfsg.orig-contrib.tar.xz
a60473ffdb7b4260c08bfa19c2ccea0438edac11193c3afbbb1f17fbcf6c6132 libzip_1.7.3.orig.tar.xz
5c5ad5d7caeb791420408042a7d88c2c6180781bf218feca259fd9d840a888e1 pugixml_1.13.orig.tar.gz
566fc77315878473d9a6bd815f7de78c73734acdcb745c3dde8579560ac5440e highway_1.0.3.orig.tar.gz
02df7d403b34602b769bb38e5bf7d4258e075eeefbe980b6832e6e1491989d60 libraw_0.20.2.orig.tar.gz"

need_packages dpkg-dev xz-utils bzip2 cmake ninja-build pkg-config python3 libeigen3-dev \
  nlohmann-json3-dev libcli11-dev
case $target in
  wasm)
    need_packages emscripten
    # Node that is not Debian's own does not look for Debian's modules, which emscripten needs.
    export NODE_PATH=/usr/share/nodejs
    cc=emcc cxx=em++ ar=emar cmake=(emcmake cmake)
    # Exceptions and longjmp (libjpeg, libpng) by WebAssembly's own means; no SIMD (CMakeLists.txt).
    flags="-O2 -ffp-contract=off -fwasm-exceptions -sSUPPORT_LONGJMP=wasm"
    ;;
  native)
    need_packages gcc g++ nasm libhwy-dev
    cc=gcc cxx=g++ ar=ar cmake=(cmake)
    flags="-O2 -ffp-contract=off -fPIC -fvisibility=hidden -D_FORTIFY_SOURCE=2 -fstack-protector-strong"
    ;;
  *) fail "usage: dependencies.sh FOLDER wasm|native" ;;
esac
if command -v ccache >/dev/null && [ "$target" = native ]; then
  cc="ccache $cc"
  cxx="ccache $cxx"
fi

apt=(-o Dir::Etc::sourcelist=/dev/null -o "Dir::Etc::sourceparts=$sources/apt/parts"
     -o "Dir::State::lists=$sources/apt/lists" -o APT::Sandbox::User=root)

# The machine's own Debian archive, asked for sources.
list_sources() {
  [ -e "$sources/apt/listed" ] && return
  mkdir -p "$sources/apt/lists/partial" "$sources/apt/parts"
  if [ -e /etc/apt/sources.list.d/debian.sources ]; then
    sed 's/^Types:.*/Types: deb-src/' /etc/apt/sources.list.d/debian.sources >"$sources/apt/parts/debian.sources"
  else
    sed -n 's/^deb /deb-src /p' /etc/apt/sources.list >"$sources/apt/parts/debian.list"
  fi
  apt-get "${apt[@]}" update -qq || fail "apt could not list Debian's source packages: check the network"
  touch "$sources/apt/listed"
}

# fetch PACKAGE: its sources, patched, in $sources/PACKAGE.
fetch() {
  [ -d "$sources/$1" ] && return
  list_sources
  local download=$sources/download/$1 archive version got=
  mkdir -p "$download"
  # Newest first; a listed version may have left the archive since.
  for version in $(apt-cache "${apt[@]}" showsrc --only-source "$1" | sed -n 's/^Version: //p' | sort -Vru); do
    (cd "$download" && apt-get "${apt[@]}" source -qq --download-only "$1=$version" >/dev/null 2>"$sources/apt/why") \
      && got=$version && break
    rm -f "$download"/*
  done
  [ -n "$got" ] || { cat "$sources/apt/why" >&2; fail "apt could not fetch the sources of $1: check the network"; }
  for archive in "$download"/*.orig*.tar.*[a-z0-9]; do
    case $archive in *.asc) continue ;; esac
    grep -q "$(sha256sum <"$archive" | cut -d' ' -f1) $(basename "$archive")" <<<"$pinned" \
      || say "note: $(basename "$archive") is not the archive that this build was tested with"
  done
  rm -rf "$sources/$1.part"
  dpkg-source --no-check -x "$download"/*.dsc "$sources/$1.part" >/dev/null 2>&1 \
    || fail "dpkg-source could not unpack $1"
  rm -rf "$download" "$sources"/*.orig*.tar.*
  mv "$sources/$1.part" "$sources/$1"
}

# archive NAME FLAGS FILE…: compiles C or C++ files into lib/libNAME.a.
archive() {
  local name=$1 own=$2 objects
  shift 2
  objects=$(mktemp -d "$out/$name.XXXX")
  # shellcheck disable=SC2086
  printf '%s\n' "$@" | xargs -P "$(nproc)" -I{} sh -c \
    "case '{}' in *.c) compiler='$cc' ;; *) compiler='$cxx -std=c++17' ;; esac
     \$compiler $flags -w $own -I'$out/include' -c '{}' -o '$objects'/\$(basename '{}').o"
  rm -f "$out/lib/lib$name.a"
  "$ar" rcs "$out/lib/lib$name.a" "$objects"/*.o
  rm -r "$objects"
}

with_cmake() {  # with_cmake NAME SOURCE OPTION…
  local name=$1 source=$2
  shift 2
  "${cmake[@]}" -S "$source" -B "$out/build/$name" -G Ninja -DCMAKE_BUILD_TYPE=Release \
    -DCMAKE_C_FLAGS="$flags" -DCMAKE_CXX_FLAGS="$flags" -DCMAKE_C_FLAGS_RELEASE=-DNDEBUG \
    -DCMAKE_CXX_FLAGS_RELEASE=-DNDEBUG -DBUILD_SHARED_LIBS=OFF -DCMAKE_INSTALL_PREFIX="$out" \
    -DCMAKE_INSTALL_LIBDIR="$out/lib" -DCMAKE_POLICY_DEFAULT_CMP0074=NEW "$@" >"$out/$name.log" 2>&1 \
    && cmake --build "$out/build/$name" >>"$out/$name.log" 2>&1 \
    && cmake --install "$out/build/$name" >>"$out/$name.log" 2>&1 \
    || { tail -n 30 "$out/$name.log" >&2; fail "$name could not be built: the end of $out/$name.log is above"; }
  rm -rf "$out/build/$name"
}

# step NAME: whether it is still to be done.
step() {
  [ -e "$out/$1.done" ] && return 1
  say "$target: $1"
}

if step zlib; then
  fetch zlib
  cp "$sources"/zlib/{zlib,zconf}.h "$out/include"
  archive z "-DHAVE_UNISTD_H" "$sources"/zlib/{adler32,compress,crc32,deflate,gzclose,gzlib,gzread,gzwrite,infback,inffast,inflate,inftrees,trees,uncompr,zutil}.c
  touch "$out/zlib.done"
fi

if step libpng; then
  fetch libpng1.6
  cp "$sources"/libpng1.6/{png,pngconf}.h "$out/include"
  cp "$sources"/libpng1.6/scripts/pnglibconf.h.prebuilt "$out/include/pnglibconf.h"
  archive png "-DPNG_INTEL_SSE_OPT=0 -DPNG_ARM_NEON_OPT=0" \
    "$sources"/libpng1.6/png{,error,get,mem,pread,read,rio,rtran,rutil,set,trans,wio,write,wtran,wutil}.c
  touch "$out/libpng.done"
fi

if step libjpeg-turbo; then
  fetch libjpeg-turbo
  with_cmake libjpeg-turbo "$sources/libjpeg-turbo" -DENABLE_SHARED=OFF -DWITH_TURBOJPEG=OFF \
    $([ "$target" = wasm ] && echo -DWITH_SIMD=OFF -DSIZE_T=4)
  touch "$out/libjpeg-turbo.done"
fi

if step libtiff; then
  fetch tiff
  tiff=$sources/tiff/libtiff
  cp "$tiff"/{tiff,tiffio,tiffvers}.h "$out/include"
  cp src/page/tiff_config.h "$out/include/tif_config.h"
  cp src/page/tiff_config.h "$out/include/tiffconf.h"
  archive tiff "-I'$tiff'" "$tiff"/tif_{aux,close,codec,color,compress,dir,dirinfo,dirread,dirwrite,dumpmode,error,extension,fax3,fax3sm,flush,getimage,hash_set,jpeg,luv,lzw,next,open,packbits,pixarlog,predict,print,read,strip,swab,thunder,tile,unix,version,warning,write,zip}.c
  touch "$out/libtiff.done"
fi

if step lcms2; then
  fetch lcms2
  cp "$sources"/lcms2/include/*.h "$out/include"
  archive lcms2 "-DCMS_NO_REGISTER_KEYWORD" "$sources"/lcms2/src/cms*.c
  touch "$out/lcms2.done"
fi

if step pugixml; then
  fetch pugixml
  cp "$sources"/pugixml/src/*.hpp "$out/include"
  archive pugixml "" "$sources/pugixml/src/pugixml.cpp"
  touch "$out/pugixml.done"
fi

if step libzip; then
  fetch libzip
  zip=$sources/libzip/lib
  cp "$zip/zip.h" "$out/include"
  cp src/page/zip_config.h "$out/include/zipconf.h"
  # Its messages, as its own build takes them from the header: letter and text of each error.
  sed -n -E '1i #include "zipint.h"\nconst char *const _zip_err_str[] = {
    s|^#define ZIP_ER_[A-Z_]+ +[0-9]+ +/\* . (.*) \*/|"\1",|p
    $a };\nconst int _zip_nerr_str = sizeof(_zip_err_str) / sizeof(_zip_err_str[0]);' "$zip/zip.h" >"$out/zip_err_str.c"
  sed -n -E '1i const int _zip_err_type[] = {
    s|^#define ZIP_ER_[A-Z_]+ +[0-9]+ +/\* (.) .* \*/|ZIP_ET_\1,|p
    $a };' "$zip/zip.h" | sed 's/ZIP_ET_N/ZIP_ET_NONE/; s/ZIP_ET_S/ZIP_ET_SYS/; s/ZIP_ET_Z/ZIP_ET_ZLIB/' >>"$out/zip_err_str.c"
  mkdir -p "$out/zip_config" && echo '#include "zipconf.h"' >"$out/zip_config/config.h"
  mapfile -t files < <(ls "$zip"/zip_*.c | grep -vE 'crypto|winzip|bzip2|_xz|win32|uwp|zip_random|mkstempm')
  archive zip "-DHAVE_CONFIG_H -I'$out/zip_config' -I'$zip'" "${files[@]}" "$zip/zip_mkstempm.c" "$zip/zip_random_unix.c" "$out/zip_err_str.c"
  touch "$out/libzip.done"
fi

if step highway; then
  fetch highway
  if [ "$target" = wasm ]; then
    mkdir -p "$out/include/hwy"
    cp -r "$sources/highway/hwy/." "$out/include/hwy/"
  fi
  archive hwy "-I'$sources/highway'" "$sources"/highway/hwy/{targets,per_target,aligned_allocator}.cc
  touch "$out/highway.done"
fi

# Browsers hand over pictures that they have decoded; a program opens camera raw files itself.
if [ "$target" = native ] && step libraw; then
  fetch libraw
  mkdir -p "$out/include/libraw"
  cp "$sources"/libraw/libraw/*.h "$out/include/libraw"
  mapfile -t files < <(find "$sources/libraw/src" -name '*.cpp' ! -name '*_ph.cpp' ! -name libraw_cxx.cpp)
  archive raw_r "-I'$sources/libraw' -DUSE_JPEG -DUSE_JPEG8 -DUSE_ZLIB" "${files[@]}"
  touch "$out/libraw.done"
fi

if step opencv; then
  fetch opencv
  contrib=$(dirname "$(find "$sources/opencv" -maxdepth 4 -type d -path '*modules/aruco' | head -n 1)")
  with_cmake opencv "$sources/opencv" -DOPENCV_EXTRA_MODULES_PATH="$contrib" \
    -DBUILD_LIST=core,imgproc,features2d,flann,calib3d,aruco \
    -DCPU_BASELINE= -DCPU_DISPATCH= -DCV_TRACE=OFF -DCV_DISABLE_OPTIMIZATION=$([ "$target" = wasm ] && echo ON || echo OFF) \
    -DENABLE_PIC="$([ "$target" = wasm ] && echo OFF || echo ON)" -DCMAKE_HAVE_LIBC_PTHREAD=1 \
    -DBUILD_ZLIB=OFF -DZLIB_LIBRARY="$out/lib/libz.a" -DZLIB_INCLUDE_DIR="$out/include" \
    -DOPENCV_GENERATE_PKGCONFIG=OFF -DOPENCV_ENABLE_NONFREE=OFF -DBUILD_opencv_apps=OFF -DBUILD_JAVA=OFF \
    -DBUILD_opencv_python3=OFF -DBUILD_opencv_js=OFF -DBUILD_TESTS=OFF -DBUILD_PERF_TESTS=OFF -DBUILD_EXAMPLES=OFF -DBUILD_DOCS=OFF \
    $(for part in 1394 ADE CUDA EIGEN FFMPEG GSTREAMER GTK IPP ITT JASPER JPEG LAPACK OPENCL OPENCLAMDBLAS OPENCLAMDFFT OPENEXR OPENGL OPENJPEG OPENMP PNG PROTOBUF PTHREADS_PF QUIRC TBB TIFF V4L VTK WEBP IMGCODEC_HDR IMGCODEC_PFM IMGCODEC_PXM IMGCODEC_SUNRASTER; do echo "-DWITH_$part=OFF"; done)
  touch "$out/opencv.done"
fi

# Headers alone. em++ must never see the machine's own folder of headers; natively they are taken from
# there, so that one compiler cache serves both kinds of builds.
if [ "$target" = wasm ] && step headers; then
  for header in eigen3/Eigen nlohmann CLI; do
    cp -r "/usr/include/$header" "$out/include/"
  done
  touch "$out/headers.done"
fi
# What was built, for the bill of materials.
version() { sed -n "1s/.*(\([0-9]*:\)\?\([0-9.]*[0-9]\).*/\2/p" "$sources/$1/debian/changelog"; }
cat >"$out/versions.cmake" <<END
set(ZLIB_VERSION $(version zlib))
set(PNG_VERSION_STRING $(version libpng1.6))
set(JPEG_VERSION $(version libjpeg-turbo))
set(TIFF_VERSION_STRING $(version tiff))
set(LCMS2_VERSION $(version lcms2))
set(pugixml_VERSION $(version pugixml))
set(LIBZIP_VERSION $(version libzip))
set(HWY_VERSION $(version highway))
set(OpenCV_VERSION $(version opencv))
$([ "$target" = native ] && echo "set(LIBRAW_VERSION $(version libraw))")
END
say "$target: all libraries are in $out"
