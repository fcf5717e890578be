// Package heif reads HEIC and AVIF still pictures. Begin with [Parse], then
// [File.Decode].
//
// The container is read here: which item is the picture, of which tiles it is
// made, how it is turned, what its colors are. The coded pictures in it are
// decoded by libde265 (HEVC) and dav1d (AV1), carried as WebAssembly in
// hevc.wasm.gz and av1.wasm.gz; see the README beside this file for licenses
// and how to rebuild them.
package heif

import "runtime"

// File is a parsed file, not yet decoded.
type File struct {
	Format        string  // "HEIC" or "AVIF"
	Width, Height int     // as stored, before turning
	Turn          int     // how to turn it, as an Exif orientation: 1 to 8
	Deep          bool    // more than 8 bits a channel
	Gray          bool    // one channel (told for HEIC only)
	ICC           []byte  // embedded profile, or nil
	Coded         *[2]int // primaries and transfer of a coded color (ITU-T H.273), or nil
	Several       bool    // it holds more than one picture

	data    []byte
	items   map[uint32]*item
	idat    []byte
	primary uint32
	matrix  int  // matrix coefficients of H.273, 2 = not said
	video   bool // luma and color differences in the video range
	told    bool // colors are known, from a colr box or the coded picture
	crop    *rect
	alpha   *item // the opacity, or nil

	premultiplied bool // colors were multiplied by the opacity
	there         int  // of the tiles of a file that breaks off; 0 = all
}

// Memory returns about how many bytes Decode makes room for: the planes, and
// what a decoder holds of the tiles it is at. (Measured on pictures of 12
// megapixels in one piece, 8 and 10 bits: dav1d keeps 9 bytes of a pixel and
// libde265 14, with what the runtime leaves behind as their memory grows.)
func (f *File) Memory() int64 {
	const (
		planes     = 3 // of a pixel, at the most
		ofAV1      = 9
		ofHEVC     = 14
		mostAtOnce = 8
	)
	pixels := int64(f.Width) * int64(f.Height)
	each := int64(planes)
	if f.alpha != nil {
		each++
	}
	if f.Deep {
		each *= 2
	}
	decoder := int64(ofHEVC)
	if f.Format == "AVIF" {
		decoder = ofAV1
	}
	tile := pixels
	if it := f.items[f.primary]; it != nil && it.kind == "grid" {
		if g, err := f.grid(it); err == nil {
			tile = pixels / int64(len(g.tiles)) * int64(min(runtime.GOMAXPROCS(0), mostAtOnce, len(g.tiles)))
		}
	}
	return pixels*each + tile*decoder
}

type rect struct{ x, y, w, h int }

// item is one entry of the meta box.
type item struct {
	id      uint32
	kind    string // "hvc1", "av01", "grid", "Exif", ...
	hidden  bool
	extents []extent
	joined  []byte // the bytes of several extents, once they were asked for
	inIdat  bool
	props   []property
	refs    map[string][]uint32 // by kind of reference, to item ids
}

type extent struct{ at, n uint64 }

type property struct {
	kind string
	body []byte
}

// ErrKind is an error about a file that is sound but of a kind that is not
// read; its text ends a sentence that begins with the name of the format.
type ErrKind string

func (e ErrKind) Error() string { return string(e) }

// Brand returns "HEIC" or "AVIF" where data begins as such a file, else "".
func Brand(data []byte) string {
	if len(data) < 16 || string(data[4:8]) != "ftyp" {
		return ""
	}
	n := min(int(data[2])<<8|int(data[3]), len(data))
	if data[0] != 0 || data[1] != 0 {
		n = 16
	}
	found := ""
	for at := 8; at+4 <= n; at += 4 {
		if at == 12 {
			continue // a version number
		}
		switch string(data[at : at+4]) {
		case "avif", "avis":
			return "AVIF"
		case "heic", "heix", "hevc", "hevx", "heim", "heis", "hevm", "hevs", "mif1", "mif2", "msf1":
			found = "HEIC"
		}
	}
	return found
}

const maxItems = 20_000

// Parse reads the container.
func Parse(data []byte) (*File, error) {
	f := &File{Format: Brand(data), Turn: 1, data: data, items: map[uint32]*item{}, matrix: 2}
	var meta []byte
	moving := false
	err := boxes(data, func(kind string, body []byte) error {
		switch kind {
		case "meta":
			if meta == nil {
				meta = body
			}
		case "moov":
			moving = true
		}
		return nil
	})
	if meta == nil {
		switch {
		case moving:
			return nil, ErrKind("holds a moving picture")
		case err != nil:
			return nil, err
		}
		return nil, errBox
	}
	// A damaged tail is no reason to refuse: the items say what is missing.
	if err := f.readMeta(meta); err != nil {
		return nil, err
	}
	f.Several = moving || f.pictures() > 1
	return f, f.readPicture()
}

// pictures counts the pictures that are meant to be seen by themselves.
func (f *File) pictures() (n int) {
	part := map[uint32]bool{}
	for _, it := range f.items {
		for _, id := range it.refs["dimg"] {
			part[id] = true
		}
	}
	for _, it := range f.items {
		_, thumb := it.refs["thmb"]
		_, aux := it.refs["auxl"]
		switch it.kind {
		case "hvc1", "av01", "grid", "iden", "iovl":
			if !part[it.id] && !thumb && !aux && !it.hidden {
				n++
			}
		}
	}
	return n
}
