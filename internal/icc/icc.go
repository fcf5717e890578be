// Package icc reads ICC profiles (ICC.1:2022, profile version 4.4, and
// ICC.1:2001-04 for version 2): of photos, and of print shops. Begin with
// [Parse]; every offset in a file is checked before use.
package icc

import (
	"encoding/binary"
	"errors"
	"strings"
	"unicode/utf16"
)

// Profile is a profile in memory.
type Profile struct {
	Data []byte
	tags map[string][]byte
}

// ErrBroken says that a profile is not as the standard has it.
var ErrBroken = errors.New("broken color profile")

// MaxSize bounds a profile; large printer profiles have 4 MB.
const MaxSize = 16 << 20

// Parse reads the head of a profile and its table of tags. Every offset is
// checked; a tag that lies outside is left out.
func Parse(data []byte) (*Profile, error) {
	if len(data) < 132 || string(data[36:40]) != "acsp" {
		return nil, ErrBroken
	}
	if n := int64(binary.BigEndian.Uint32(data)); n < 132 || n > int64(len(data)) {
		return nil, ErrBroken // it lies about its size
	}
	p := &Profile{Data: data, tags: map[string][]byte{}}
	count := binary.BigEndian.Uint32(data[128:])
	if count > 200 || int64(132+12*count) > int64(len(data)) {
		return nil, ErrBroken
	}
	for e := data[132 : 132+12*count]; len(e) > 0; e = e[12:] {
		at, n := int64(binary.BigEndian.Uint32(e[4:])), int64(binary.BigEndian.Uint32(e[8:]))
		if at+n > int64(len(data)) || n < 8 {
			continue // a tag that is missed is named when it is asked for
		}
		p.tags[string(e[:4])] = data[at : at+n]
	}
	return p, nil
}

// Name returns the description of the profile, or "unnamed".
func (p *Profile) Name() string {
	d := p.tags["desc"]
	var s string
	switch {
	case len(d) > 12 && string(d[:4]) == "desc":
		n := min(int64(binary.BigEndian.Uint32(d[8:])), int64(len(d)-12))
		s = string(d[12 : 12+n])
	case len(d) >= 28 && string(d[:4]) == "mluc":
		n, at := int64(binary.BigEndian.Uint32(d[20:])), int64(binary.BigEndian.Uint32(d[24:]))
		if at+n <= int64(len(d)) {
			var u []uint16
			for b := d[at : at+n]; len(b) >= 2; b = b[2:] {
				u = append(u, binary.BigEndian.Uint16(b))
			}
			s = string(utf16.Decode(u))
		}
	}
	s, _, _ = strings.Cut(s, "\x00")
	s = strings.TrimSpace(strings.Map(func(r rune) rune {
		if r < ' ' || r == 0x7F || r == 0xFFFD {
			return -1
		}
		return r
	}, s))
	if r := []rune(s); len(r) > 60 {
		s = string(r[:60])
	}
	if s == "" {
		return "unnamed"
	}
	return s
}

// Class is what the profile is of: "prtr" a printer, "mntr" a screen, "scnr",
// "spac" and so on (ICC.1:2022, 7.2.7).
func (p *Profile) Class() string { return string(p.Data[12:16]) }

// Space is what its numbers are: "RGB ", "CMYK", "GRAY".
func (p *Profile) Space() string { return string(p.Data[16:20]) }

// PCS is the space that it connects to: "XYZ " or "Lab ".
func (p *Profile) PCS() string { return string(p.Data[20:24]) }

// Version is the version of the standard it follows: 2 or 4.
func (p *Profile) Version() int { return int(p.Data[8]) }

// Tag returns an element, nil where there is none.
func (p *Profile) Tag(name string) []byte { return p.tags[name] }
