package kit

import (
	"bufio"
	"compress/zlib"
	"crypto/sha256"
	"encoding/binary"
	"encoding/hex"
	"errors"
	"io"
	"math"
	"slices"

	"kitwright/internal/say"
	"kitwright/lab"
)

// Target is what a chart is judged by: the color that each drill should come
// near, and what it shows. A kit keeps it in a file of its own, so that an
// edited chart can be judged without the photo.
type Target struct {
	Grid  *lab.Grid
	Shows []Part // a cell
}

// Part is what a cell of the canvas shows.
type Part uint8

// The parts. Where no subject is known, all of the photo is background.
const (
	OnFrame      Part = iota // border or caption: as asked for, and not judged
	OnBackground             // of the photo
	OnSubject
)

// The file begins with this line; what follows is one zlib stream (RFC 1950):
//
//	columns, rows         as varints
//	parts                 runs of cells, row by row: part and length as varints
//	L, a, b               three planes: for each cell, row by row, the difference
//	                      in 1/targetUnit from what its neighbors foretell, as a
//	                      zigzag varint
//
// Foretold is the cell to the left, the one above, or left + above - corner,
// whichever lies between the other two (M. J. Weinberger, G. Seroussi,
// G. Sapiro, "The LOCO-I lossless image compression algorithm", IEEE Trans.
// Image Processing 9 (2000) 1309-1324); 0 outside. Varints are those of
// encoding/binary. The numbers are the same on every machine; the compressed
// bytes are too within one release, but may change with the Go version.
const (
	targetLine = "kitwright target 1\n"
	targetUnit = 4096 // as colors enter a lab.Grid, so that nothing is lost
)

// Write writes the target's file.
func (t *Target) Write(w io.Writer) error {
	if _, err := io.WriteString(w, targetLine); err != nil {
		return err
	}
	z := zlib.NewWriter(w)
	if err := t.writeNumbers(z); err != nil {
		return err
	}
	return z.Close()
}

// writeNumbers writes what is compressed.
func (t *Target) writeNumbers(w io.Writer) error {
	out := bufio.NewWriter(w)
	var b [binary.MaxVarintLen64]byte
	number := func(v uint64) { out.Write(b[:binary.PutUvarint(b[:], v)]) }
	g := t.Grid
	number(uint64(g.Cols))
	number(uint64(g.Rows))
	for i := 0; i < len(t.Shows); {
		end := i + 1
		for end < len(t.Shows) && t.Shows[end] == t.Shows[i] {
			end++
		}
		number(uint64(t.Shows[i]))
		number(uint64(end - i))
		i = end
	}
	v := make([]int, len(g.Cells))
	for plane := range 3 {
		for i, c := range g.Cells {
			v[i] = int(math.Round([3]float64{c.L, c.A, c.B}[plane] * targetUnit))
			out.Write(b[:binary.PutVarint(b[:], int64(v[i]-foretold(v, i, g.Cols)))])
		}
	}
	return out.Flush()
}

// foretold is what the neighbors of cell i foretell for it.
func foretold(v []int, i, cols int) int {
	switch {
	case i == 0:
		return 0
	case i < cols:
		return v[i-1]
	case i%cols == 0:
		return v[i-cols]
	}
	left, above, corner := v[i-1], v[i-cols], v[i-cols-1]
	switch {
	case corner >= max(left, above):
		return min(left, above)
	case corner <= min(left, above):
		return max(left, above)
	}
	return left + above - corner
}

// Sum is the hash, in hex, of what the file holds, however it is compressed.
func (t *Target) Sum() string {
	h := sha256.New()
	t.writeNumbers(h)
	return hex.EncodeToString(h.Sum(nil))
}

// ReadTarget reads a target's file and refuses what is none.
func ReadTarget(r io.Reader) (*Target, error) {
	bad := func(what string) error {
		return say.Failed("make the kit again from its photo; without this file it prints as before, but an edited chart cannot be judged",
			TargetFile+" cannot be used: %s", what)
	}
	line := make([]byte, len(targetLine))
	if _, err := io.ReadFull(r, line); err != nil || string(line[:len(line)-2]) != targetLine[:len(line)-2] {
		return nil, bad("it is none of ours")
	}
	if string(line) != targetLine {
		return nil, say.Failed("use the newer kitwright that made it", TargetFile+" is of a newer version")
	}
	file := bufio.NewReader(r) // read a byte at a time, so that what follows is seen
	z, err := zlib.NewReader(file)
	if err != nil {
		return nil, bad("it is damaged")
	}
	in := bufio.NewReader(z)
	cols, err1 := binary.ReadUvarint(in)
	rows, err2 := binary.ReadUvarint(in)
	if err1 != nil || err2 != nil || cols < 1 || rows < 1 || cols > MaxDrills || rows > MaxDrills || cols*rows > MaxDrills {
		return nil, bad("it is damaged")
	}
	t := &Target{Grid: lab.NewGrid(int(cols), int(rows))}
	if t.Shows, err = readParts(in, int(cols*rows)); err != nil {
		return nil, bad("it is damaged")
	}
	v := make([]int, len(t.Shows))
	const most = 400 * targetUnit // far beyond any color
	for plane := range 3 {
		for i := range v {
			d, err := binary.ReadVarint(in)
			if v[i] = int(d) + foretold(v, i, int(cols)); err != nil || d > 1<<20 || d < -1<<20 || v[i] > most || v[i] < -most {
				return nil, bad("it is damaged")
			}
			c := &t.Grid.Cells[i]
			*[3]*float64{&c.L, &c.A, &c.B}[plane] = float64(v[i]) / targetUnit
		}
	}
	if _, err := in.ReadByte(); !errors.Is(err, io.EOF) { // also checks the sum at the end
		return nil, bad("it is damaged")
	}
	if _, err := file.ReadByte(); !errors.Is(err, io.EOF) {
		return nil, bad("something follows its end")
	}
	return t, nil
}

// readParts reads what n cells show.
func readParts(in io.ByteReader, n int) ([]Part, error) {
	var shows []Part
	for len(shows) < n {
		part, err1 := binary.ReadUvarint(in)
		run, err2 := binary.ReadUvarint(in)
		if err1 != nil || err2 != nil || part > uint64(OnSubject) || run < 1 || run > uint64(n-len(shows)) {
			return nil, errors.New("no such part")
		}
		shows = slices.Grow(shows, n)
		for range run {
			shows = append(shows, Part(part))
		}
	}
	return shows, nil
}

// TargetFile is the name of the target's file in a kit folder.
const TargetFile = "target.bin"

// ReadTarget reads the target's file of a kit that kit.json was read of, and
// refuses that of another one.
func (k *Kit) ReadTarget(r io.Reader) error {
	t, err := ReadTarget(r)
	if err != nil {
		return err
	}
	if t.Grid.Cols != k.Chart.Cols || t.Grid.Rows != k.Chart.Rows || k.TargetSum != "" && t.Sum() != k.TargetSum {
		return say.Failed("put the kit's own "+TargetFile+" back into its folder", TargetFile+" is that of another kit")
	}
	k.Target = t
	return nil
}

// Judge holds the kit's chart against its target and brings the figures of the
// quality that depend on where each drill lies up to date. What is proven about
// the choice of colors stays as it was.
func (k *Kit) Judge() error {
	if k.Target == nil {
		return say.Failed("put the kit's "+TargetFile+" back into its folder", "the kit has no target to judge its chart by")
	}
	k.Quality.judge(k.Target, k.Chart)
	return nil
}
