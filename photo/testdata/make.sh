#!/bin/sh
# Makes the small test pictures from the demo photo with programs that know
# nothing of this project: ImageMagick, libwebp's cwebp and gif2webp.
set -e
cd "$(dirname "$0")"
convert ../demo/cat.png -crop 60x45+150+60 +repage -resize 24x18 small.png
convert small.png -quality 90 small.jpg
convert small.png -quality 90 -interlace JPEG progressive.jpg
convert small.png -colorspace CMYK cmyk.jpg
convert small.png -colorspace gray gray.jpg
convert small.png -colors 16 PNG8:palette.png
convert small.png PNG48:deep.png
convert small.png \( -size 24x18 gradient:white-black \) -alpha off -compose CopyOpacity -composite PNG32:alpha.png
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
