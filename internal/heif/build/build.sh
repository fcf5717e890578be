#!/usr/bin/env bash
# Builds the carried decoders anew, into the folder above this one:
#
#     internal/heif/build/build.sh FOLDER
#
# FOLDER holds the two source archives named below (Debian's source packages
# libde265 and dav1d carry them; any copy with the same sum will do). The
# tools are Debian 12's: clang-19, lld-19, wasi-libc, libc++-19-dev-wasm32,
# libc++abi-19-dev-wasm32, libclang-rt-19-dev-wasm32. With those in the same
# versions the modules come out the same to the byte.
set -euo pipefail
here=$(cd "$(dirname "$0")" && pwd)
from=$(cd "$1" && pwd)

libde265=libde265_1.1.3.orig.tar.gz
dav1d=dav1d_1.5.4.orig.tar.xz
(cd "$from" && sha256sum --check --quiet <<SUMS
554228bd17788c99a7e63b37ab5634722190e6e2bf60c1dcb01cef328e133905  $libde265
686616b7c69eb88d44459391ab25cac13b6647a3b288835c5784e71c1514a5c5  $dav1d
SUMS
)

work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
cd "$work"
tar xf "$from/$libde265" && tar xf "$from/$dav1d"

# No paths of this machine and no dates in the modules; vectors of 128 bits,
# which every engine of the last years has.
common=(--target=wasm32-wasi -O3 -msimd128 -mnontrapping-fptoint -mbulk-memory -fno-ident -DNDEBUG
  -D_WASI_EMULATED_SIGNAL -ffile-prefix-map="$work"=. -isystem "$here/stubs" -I "$here/stubs" -include stopped.h -w)
link=(--target=wasm32-wasi -O3 -mexec-model=reactor -fuse-ld=/usr/bin/wasm-ld-19 -Wl,--strip-all -Wl,-z,stack-size=1048576
  -Wl,--export=malloc -Wl,--export=free -L/usr/lib/wasm32-wasi)

compile() { # compiler, output, input, flags
  local with=$1 out=$2 in=$3
  shift 3
  "$with" "${common[@]}" "$@" -c -o "$out" "$in"
}

# Where the sources are changed: between blocks they ask whether to go on. Each
# change has to fit one place.
ask() { # file, what stands there, what shall
  [ "$(grep -c "$2" "$1")" = 1 ] || { echo "$1 has changed: look for $2"; exit 1; }
  sed -i "s/$2/$3/" "$1"
}

printf '\n== libde265\n'
d=$work/libde265-1.1.3
ask "$d/libde265/slice.cc" '^    read_coding_tree_unit(tctx);' '    if (stopped()) return Decode_Error; read_coding_tree_unit(tctx);'
sed -e 's/@NUMERIC_VERSION@/0x01010300/; s/@PROJECT_VERSION@/1.1.3/' "$d/libde265/de265-version.h.in" >"$d/libde265/de265-version.h"
objects=()
for f in alloc_pool bitstream cabac contextmodel de265 deblock decctx dpb fallback fallback-dct fallback-deblk \
  fallback-intrapred fallback-motion image intrapred md5 motion nal nal-parser pps quality refpic sao scan sei \
  slice sps threads transform util vps vui; do
  compile clang++-19 "$f.o" "$d/libde265/$f.cc" -std=c++17 -fno-exceptions -fno-rtti -isystem /usr/lib/llvm-19/include/wasm32-wasi/c++/v1 \
    -DHAVE_POSIX_MEMALIGN=1 -DHAVE_STDINT_H=1 -D_LIBCPP_HAS_NO_THREADS -I "$d" -I "$d/libde265"
  objects+=("$f.o")
done
compile clang-19 hevc.o "$here/hevc.c" -I "$d"
clang++-19 "${link[@]}" -L/usr/lib/llvm-19/lib/wasm32-wasi -o hevc.wasm hevc.o "${objects[@]}"

printf '\n== dav1d\n'
d=$work/dav1d-1.5.4
ask "$d/src/decode.c" 'if (dav1d_decode_tile_sbrow(t)) goto error;' 'if (stopped() || dav1d_decode_tile_sbrow(t)) goto error;'
mkdir -p conf
cp "$here/config.h" conf/config.h
echo '#define DAV1D_VERSION "1.5.4"' >conf/vcs_version.h
flags=(-std=gnu11 -I conf -I "$d" -I "$d/include" -I "$d/src" -D_POSIX_C_SOURCE=200112L)
objects=()
for f in cdf cpu ctx data decode dequant_tables getbits intra_edge itx_1d lf_mask lib log mem msac obu pal picture qm \
  ref refmvs scan tables thread_task warpmv wedge; do
  compile clang-19 "$f.d.o" "$d/src/$f.c" "${flags[@]}"
  objects+=("$f.d.o")
done
for f in cdef_apply cdef fg_apply filmgrain ipred_prepare ipred itx lf_apply loopfilter looprestoration lr_apply mc recon; do
  for bits in 8 16; do
    compile clang-19 "$f.$bits.o" "$d/src/${f}_tmpl.c" "${flags[@]}" -DBITDEPTH=$bits
    objects+=("$f.$bits.o")
  done
done
compile clang-19 av1.o "$here/av1.c" "${flags[@]}"
clang-19 "${link[@]}" -o av1.wasm av1.o "${objects[@]}"

for m in hevc av1; do
  gzip -9n <"$m.wasm" >"$here/../$m.wasm.gz"
done
cd "$here/.." && ls -l hevc.wasm.gz av1.wasm.gz && sha256sum hevc.wasm.gz av1.wasm.gz
