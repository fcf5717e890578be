#!/bin/sh
# Makes a picture of four colors, stored in each of the eight ways and marked
# to be set upright again, in six formats. ImageMagick turns the pixels,
# exiftool writes Exif (JPEG, PNG, WebP, TIFF), avifenc writes the turning of
# its own format from the Exif of a JPEG, heicturn.py that of HEIC (then
# libheif's heif-convert is asked whether it agrees). HEIC and AVIF files keep
# that Exif: whoever turns by both turns twice.
set -e
cd "$(dirname "$0")"
rm -f o*.*
convert -size 48x32 xc:'#c02818' -fill '#209030' -draw 'rectangle 24,0 47,15' \
  -fill '#2038b0' -draw 'rectangle 0,16 23,31' -fill '#e0c020' -draw 'rectangle 24,16 47,31' tmp.png
# Orientation, how ImageMagick gets there from upright, irot, imir.
while IFS=: read -r o how irot imir; do
  convert tmp.png $how +repage stored.png
  convert stored.png -quality 95 -sampling-factor 1x1 o$o.jpg
  cp stored.png o$o.png
  cwebp -quiet -lossless stored.png -o o$o.webp
  convert stored.png -type TrueColor -depth 8 -compress lzw o$o.tif
  exiftool -q -q -overwrite_original -n -Orientation=$o o$o.jpg o$o.png o$o.webp o$o.tif
  heif-enc -q 90 -p chroma=444 o$o.jpg -o stored.heic >/dev/null
  python3 heicturn.py stored.heic o$o.heic $irot $imir
  heif-convert o$o.heic upright.png >/dev/null
  compare -metric MAE tmp.png upright.png null: 2>&1 | awk -v o=$o '{ if ($1 > 1500) { print "heif-convert disagrees on o" o; exit 1 } }'
  avifenc -s 8 --min 5 --max 10 o$o.jpg o$o.avif >/dev/null
done <<LIST
1::0:-1
2:-flop:0:1
3:-rotate 180:2:-1
4:-flip:0:0
5:-transpose:1:0
6:-rotate 270:3:-1
7:-transverse:3:0
8:-rotate 90:1:-1
LIST
rm -f tmp.png stored.png stored.heic upright.png
