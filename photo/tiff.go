package photo

import (
	"context"
	"image"
	"image/color"
	"slices"
)

// Tags of TIFF 6.0 (Adobe 1992), section 8 and, for tiles, 15; JPEG inside is
// by Adobe's TIFF Technical Note 2 (1995).
const (
	tagWidth       = 0x0100
	tagHeight      = 0x0101
	tagBits        = 0x0102
	tagPacking     = 0x0103
	tagMeaning     = 0x0106 // PhotometricInterpretation
	tagFillOrder   = 0x010A
	tagOffsets     = 0x0111
	tagSamples     = 0x0115 // how many numbers make a pixel
	tagStripRows   = 0x0116
	tagCounts      = 0x0117
	tagPlanes      = 0x011C // 2: each of them in a plane of its own
	tagT4          = 0x0124
	tagPredictor   = 0x013D
	tagColors      = 0x0140
	tagTileWidth   = 0x0142
	tagTileHeight  = 0x0143
	tagTileOffsets = 0x0144
	tagTileCounts  = 0x0145
	tagInkSet      = 0x014C
	tagExtra       = 0x0152
	tagNumbers     = 0x0153 // SampleFormat
	tagTables      = 0x015B // JPEGTables
)

const (
	meansWhiteIsZero, meansBlackIsZero, meansRGB, meansPalette, meansInks, meansYCC = 0, 1, 2, 3, 5, 6
)

const (
	packNone, packG3, packG4, packLZW, packJPEG, packDeflate, packDeflateOld, packBits = 1, 3, 4, 5, 7, 8, 32946, 32773
)

// layout is a TIFF picture before it is unpacked.
type layout struct {
	t              tiff
	w, h           int
	bits, samples  int
	colors         int // of the samples, the first ones
	alpha          int // which sample is the opacity; 0 = none
	premul         bool
	meaning        uint32
	packing        uint32
	predict        bool
	reversed       bool // FillOrder 2: the lowest bit of a byte comes first
	planar         bool
	pieceW, pieceH int // of a strip or a tile
	across, down   int // pieces in a row and in a column
	at, n          []uint32
	tables         []byte // for all JPEG streams
	palette        color.Palette
}

// rare is an error about a sound file of a kind that is not read; its text ends
// a sentence that begins with the name of the format.
type rare string

func (r rare) Error() string { return string(r) }

// openTIFF reads the first directory.
func openTIFF(data []byte) (*opened, error) {
	t, ok := newTIFF(data)
	if !ok {
		return nil, errDamaged
	}
	l, err := readLayout(t)
	if err != nil {
		return nil, err
	}
	o := &opened{name: "TIFF", meta: tiffMeta(data), config: image.Config{Width: l.w, Height: l.h, ColorModel: color.NRGBAModel}}
	if l.bits > 8 {
		o.config.ColorModel = color.NRGBA64Model
	}
	o.memory = int64(l.w) * int64(l.h) * int64(l.outSamples()) * int64(l.outBytes())
	o.memory += 2 * int64(l.pieceW) * int64(l.pieceH) * int64(l.samples) * int64(l.outBytes())
	o.decode = func(ctx context.Context) (*decoded, error) { return l.decode(ctx) }
	return o, nil
}

// outSamples is how many numbers of a pixel are kept, and outBytes how long
// each is.
func (l *layout) outSamples() int {
	if l.alpha > 0 {
		return l.colors + 1
	}
	return l.colors
}

func (l *layout) outBytes() int {
	if l.bits > 8 {
		return 2
	}
	return 1
}

func readLayout(t tiff) (*layout, error) {
	num := func(tag uint16, otherwise uint32) uint32 {
		if v := t.numbers(t.first, tag); len(v) > 0 {
			return v[0]
		}
		return otherwise
	}
	l := &layout{
		t: t, w: int(num(tagWidth, 0)), h: int(num(tagHeight, 0)),
		samples: int(num(tagSamples, 1)), meaning: num(tagMeaning, 1<<16), packing: num(tagPacking, packNone),
		reversed: num(tagFillOrder, 1) == 2, tables: t.find(t.first, tagTables),
	}
	if l.w <= 0 || l.h <= 0 || l.w > maxSide || l.h > maxSide {
		return l, l.tooLarge()
	}
	bits := t.numbers(t.first, tagBits)
	if l.bits = 1; len(bits) > 0 {
		l.bits = int(bits[0])
	}
	for _, b := range bits {
		if int(b) != l.bits {
			return nil, rare("gives each of its colors another number of bits")
		}
	}
	for _, f := range t.numbers(t.first, tagNumbers) {
		switch f {
		case 1, 4:
		case 3:
			return nil, rare("holds floating-point numbers")
		default:
			return nil, rare("holds numbers below zero")
		}
	}
	switch l.bits {
	case 1, 2, 4, 8, 16:
	default:
		return nil, rare("has an odd number of bits a color")
	}
	if err := l.readMeaning(num); err != nil {
		return nil, err
	}
	if err := l.readPacking(num); err != nil {
		return nil, err
	}
	return l, l.readPieces(num)
}

// tooLarge leaves sizes that nobody honest writes to the check of limits.
func (l *layout) tooLarge() error {
	if l.w <= 0 || l.h <= 0 {
		return errDamaged
	}
	return nil
}

// readMeaning finds out which samples are colors.
func (l *layout) readMeaning(num func(uint16, uint32) uint32) error {
	switch l.meaning {
	case meansWhiteIsZero, meansBlackIsZero, meansPalette:
		l.colors = 1
	case meansRGB, meansYCC:
		l.colors = 3
	case meansInks:
		if l.colors = 4; num(tagInkSet, 1) != 1 {
			return rare("is stored in printing inks other than the usual four")
		}
	case 8, 9, 10:
		return rare("is stored in Lab colors")
	case 1 << 16:
		return errDamaged
	default:
		return rare("stores its colors in a rare way")
	}
	if l.samples < l.colors || l.samples > 32 {
		return errDamaged
	}
	if l.meaning == meansYCC && l.packing != packJPEG {
		return rare("stores luma and color differences without JPEG")
	}
	if l.meaning == meansPalette {
		if l.bits > 8 {
			return rare("has a palette of more than 256 colors")
		}
		if err := l.readPalette(); err != nil {
			return err
		}
	}
	for i, kind := range l.t.numbers(l.t.first, tagExtra) {
		if (kind == 1 || kind == 2) && l.alpha == 0 && l.colors+i < l.samples && l.meaning != meansPalette {
			l.alpha, l.premul = l.colors+i, kind == 1
		}
	}
	return nil
}

// readPalette reads ColorMap: all reds, all greens, all blues, 16 bits each
// (TIFF 6.0, section 5). Some writers put in 8-bit numbers: when none is over
// 255, they are taken for that, as libtiff does it (checkcmap in its tools).
func (l *layout) readPalette() error {
	v := l.t.numbers(l.t.first, tagColors)
	n := 1 << l.bits
	if len(v) < 3*n {
		return errDamaged
	}
	scale := uint32(1)
	if slices.Max(v[:3*n]) < 256 {
		scale = 257
	}
	for i := range n {
		l.palette = append(l.palette, color.NRGBA64{R: uint16(v[i] * scale), G: uint16(v[n+i] * scale), B: uint16(v[2*n+i] * scale), A: 65535})
	}
	return nil
}

func (l *layout) readPacking(num func(uint16, uint32) uint32) error {
	switch l.packing {
	case packNone, packLZW, packDeflate, packDeflateOld, packBits:
	case packG3, packG4:
		if l.bits != 1 || l.samples != 1 {
			return errDamaged
		}
		if l.packing == packG3 && num(tagT4, 0)&1 == 1 {
			return rare("is a fax of two dimensions")
		}
	case packJPEG:
		if l.bits != 8 {
			return rare("holds JPEG of more than 8 bits")
		}
	case 6:
		return rare("holds JPEG in the way that was given up in 1995")
	default:
		return rare("is packed in a rare way")
	}
	switch num(tagPredictor, 1) {
	case 1:
	case 2:
		l.predict = l.packing == packLZW || l.packing == packDeflate || l.packing == packDeflateOld
		if l.predict && l.bits < 8 {
			return rare("is packed in a rare way")
		}
	default:
		return rare("holds floating-point numbers")
	}
	return nil
}

// readPieces finds the strips or tiles.
func (l *layout) readPieces(num func(uint16, uint32) uint32) error {
	l.planar = num(tagPlanes, 1) == 2 && l.samples > 1
	if l.planar && l.meaning == meansYCC {
		return rare("stores luma and color differences in planes")
	}
	offsets, counts := uint16(tagOffsets), uint16(tagCounts)
	l.pieceW, l.pieceH = l.w, int(min(num(tagStripRows, 1<<31), uint32(l.h)))
	if w := num(tagTileWidth, 0); w > 0 {
		offsets, counts = tagTileOffsets, tagTileCounts
		l.pieceW, l.pieceH = int(w), int(num(tagTileHeight, 0))
		if l.pieceW > maxSide || l.pieceH > maxSide || l.pieceW%16 != 0 || l.pieceH%16 != 0 {
			return errDamaged
		}
	}
	if l.pieceH <= 0 {
		return errDamaged
	}
	l.across, l.down = (l.w+l.pieceW-1)/l.pieceW, (l.h+l.pieceH-1)/l.pieceH
	l.at, l.n = l.t.numbers(l.t.first, offsets), l.t.numbers(l.t.first, counts)
	want := l.across * l.down
	if l.planar {
		want *= l.samples
	}
	if len(l.n) == 0 && want == 1 && len(l.at) == 1 && int64(l.at[0]) < int64(len(l.t.data)) {
		l.n = []uint32{uint32(len(l.t.data)) - l.at[0]} // old writers left it out
	}
	if len(l.at) < want || len(l.n) < want {
		return errDamaged
	}
	return nil
}
