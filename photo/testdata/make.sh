#!/bin/sh
# Makes the small test pictures from the demo photo with programs that know
# nothing of this project: ImageMagick, cwebp and gif2webp of libwebp, heif-enc
# of libheif (x265), avifenc of libavif (libaom).
set -e
strip="-define png:exclude-chunks=date,time"
cd "$(dirname "$0")"
convert $strip ../demo/cat.png -crop 60x45+150+60 +repage -resize 24x18 small.png
convert small.png -quality 90 small.jpg
convert small.png -quality 90 -interlace JPEG progressive.jpg
convert small.png -colorspace CMYK cmyk.jpg
convert small.png -colorspace gray gray.jpg
convert $strip small.png -colors 16 PNG8:palette.png
convert $strip small.png PNG48:deep.png
convert $strip small.png \( -size 24x18 gradient:white-black \) -alpha off -compose CopyOpacity -composite PNG32:alpha.png
convert small.png small.gif
convert -delay 20 small.png \( small.png -negate \) animated.gif
convert small.png BMP3:small.bmp
convert small.png -compress lzw small.tif
convert small.png -depth 16 -compress zip deep.tif
convert small.png -endian MSB -compress none big-endian.tif
cwebp -quiet -q 80 small.png -o lossy.webp
cwebp -quiet -lossless small.png -o lossless.webp
cwebp -quiet -q 80 alpha.png -o alpha.webp
gif2webp -quiet -lossy animated.gif -o animated.webp
heif-enc -q 80 small.png -o small.heic >/dev/null
heif-enc -q 80 alpha.png -o alpha.heic >/dev/null
convert $strip small.png -colorspace gray tmp.png
heif-enc -q 80 tmp.png -o gray.heic >/dev/null
rm tmp.png
heif-enc -q 80 -b 10 deep.png -o deep.heic >/dev/null
avifenc -s 8 --min 10 --max 20 small.png small.avif >/dev/null
avifenc -s 8 -d 10 --min 10 --max 20 deep.png deep.avif >/dev/null
avifenc -s 8 -r limited --min 10 --max 20 small.png limited.avif >/dev/null
avifenc -s 8 alpha.png alpha.avif >/dev/null
