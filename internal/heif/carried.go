package heif

import (
	"embed"
	"encoding/binary"
	"errors"
	"image"

	"kitwright/internal/wasm"
)

//go:embed hevc.wasm.gz
var hevcGz []byte

//go:embed av1.wasm.gz
var av1Gz []byte

// decoder is a carried decoder: a module and the names of its two functions,
// which build/hevc.c and build/av1.c explain.
type decoder struct {
	module      *wasm.Module
	open, close string
	limit       bool // open takes the most pixels a picture may have
}

// A picture of 120 million numbers fits into either with all that its decoder
// keeps beside it.
var (
	hevc = &decoder{module: wasm.New(hevcGz, 2048), open: "hevc_open", close: "hevc_close"}
	av1  = &decoder{module: wasm.New(av1Gz, 3072), open: "av1_open", close: "av1_close", limit: true}
)

// planes is one decoded tile in the module's memory.
type planes struct {
	w, h   int
	gray   bool
	ratio  image.YCbCrSubsampleRatio
	depth  int
	plane  [3][]byte
	stride [3]int
}

// decode decodes one picture of so many pixels. The planes are good until free
// is called, which has to be before the next decode.
func (d *decoder) decode(in *wasm.Instance, data []byte, pixels int) (m *planes, free func(), err error) {
	at, err := in.Put(data)
	if err != nil {
		return nil, nil, err
	}
	const numbers = 11
	info, err := in.Put(make([]byte, 4*numbers))
	if err != nil {
		return nil, nil, err
	}
	args := []uint64{uint64(at), uint64(len(data))}
	if d.limit {
		args = append(args, uint64(pixels))
	}
	ok, err := in.Call(d.open, append(args, uint64(info))...)
	if err != nil || ok == 0 {
		return nil, nil, errors.Join(ErrDecode, err)
	}
	b, err := in.View(info, 4*numbers)
	if err != nil {
		return nil, nil, err
	}
	var v [numbers]int
	for i := range v {
		v[i] = int(binary.LittleEndian.Uint32(b[4*i:]))
	}
	m = &planes{w: v[0], h: v[1], depth: v[3]}
	if m.depth < 8 || m.depth > 16 || v[4] != m.depth {
		return nil, nil, ErrKind("stores its colors in a rare way")
	}
	if m.w <= 0 || m.h <= 0 || m.w*m.h > pixels {
		return nil, nil, errBox
	}
	cw, ch := m.w, m.h
	switch v[2] {
	case 0:
		m.gray, m.ratio, cw, ch = true, image.YCbCrSubsampleRatio420, 0, 0
	case 1:
		m.ratio, cw, ch = image.YCbCrSubsampleRatio420, (cw+1)/2, (ch+1)/2
	case 2:
		m.ratio, cw = image.YCbCrSubsampleRatio422, (cw+1)/2
	case 3:
		m.ratio = image.YCbCrSubsampleRatio444
	default:
		return nil, nil, ErrKind("stores its colors in a rare way")
	}
	size := 1
	if m.depth > 8 {
		size = 2
	}
	for c, s := range [3][2]int{{m.w, m.h}, {cw, ch}, {cw, ch}} {
		if s[0] == 0 {
			continue
		}
		m.stride[c] = v[6+2*c]
		if m.stride[c] < s[0]*size || m.stride[c] > 1<<24 {
			return nil, nil, ErrDecode
		}
		if m.plane[c], err = in.View(uint32(v[5+2*c]), m.stride[c]*(s[1]-1)+s[0]*size); err != nil {
			return nil, nil, err
		}
	}
	return m, func() {
		in.Call(d.close)
		in.Free(info)
		in.Free(at)
	}, nil
}

// Licenses holds the licenses of the carried decoders and of the libraries in
// them.
//
//go:embed licenses
var Licenses embed.FS
