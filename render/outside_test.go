package render

import (
	"bufio"
	"bytes"
	"encoding/xml"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"kitwright/internal/checker"
	"kitwright/render/letters"
)

// run runs an outside program and returns what it printed.
func run(t testing.TB, name string, args ...string) string {
	t.Helper()
	checker.Need(t, name)
	var out, errs bytes.Buffer
	cmd := exec.Command(name, args...)
	cmd.Stdout, cmd.Stderr = &out, &errs
	require.NoError(t, cmd.Run(), "%s %s: %s%s", name, strings.Join(args, " "), out.String(), errs.String())
	return out.String()
}

// pdfFile writes a print into a file and returns its path.
func pdfFile(t testing.TB, write func(io.Writer) error) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), "print.pdf")
	f, err := os.Create(path)
	require.NoError(t, err)
	require.NoError(t, write(f))
	require.NoError(t, f.Close())
	return path
}

// raster is a rendered page or a part of it, 3 bytes a pixel.
type raster struct {
	w, h   int
	pix    []byte
	dpi    float64
	x0, y0 int // where a part begins on the page, pixels
}

func (r *raster) at(x, y int) color {
	i := 3 * (y*r.w + x)
	return color{r.pix[i], r.pix[i+1], r.pix[i+2]}
}

// atMM returns the pixel that covers a place on the page.
func (r *raster) atMM(x, y float64) color { return r.at(int(x*r.dpi/25.4), int(y*r.dpi/25.4)) }

// The renderers that prints are tried in.
var renderers = []string{"pdftoppm", "mutool", "gs"}

// rendered returns a page of a PDF as a renderer draws it; smooth asks
// Ghostscript for smoothed edges, which the others always do.
func rendered(t testing.TB, renderer, path string, pageNo, dpi int, smooth bool) *raster {
	t.Helper()
	out := filepath.Join(t.TempDir(), "page")
	d, n := strconv.Itoa(dpi), strconv.Itoa(pageNo)
	switch renderer {
	case "pdftoppm":
		run(t, "pdftoppm", "-r", d, "-f", n, "-l", n, "-singlefile", path, out)
		out += ".ppm"
	case "mutool":
		out += ".ppm"
		run(t, "mutool", "draw", "-q", "-r", d, "-o", out, path, n)
	case "gs":
		out += ".ppm"
		args := []string{"-q", "-dBATCH", "-dNOPAUSE", "-dSAFER", "-sDEVICE=ppmraw", "-r" + d, "-dFirstPage=" + n, "-dLastPage=" + n, "-sOutputFile=" + out}
		if smooth {
			args = append(args, "-dGraphicsAlphaBits=4", "-dTextAlphaBits=4")
		}
		run(t, "gs", append(args, path)...)
	}
	return readPPM(t, out, float64(dpi))
}

// renderedPart returns a part of the first page, its place and size in mm, as
// poppler draws it.
func renderedPart(t testing.TB, path string, dpi, x, y, w, h float64) *raster {
	t.Helper()
	out := filepath.Join(t.TempDir(), "part")
	px := func(mm float64) string { return strconv.Itoa(int(mm * dpi / 25.4)) }
	run(t, "pdftoppm", "-r", strconv.FormatFloat(dpi, 'f', 4, 64), "-x", px(x), "-y", px(y), "-W", px(w), "-H", px(h), "-singlefile", path, out)
	r := readPPM(t, out+".ppm", dpi)
	r.x0, r.y0 = int(x*dpi/25.4), int(y*dpi/25.4)
	return r
}

func readPPM(t testing.TB, path string, dpi float64) *raster {
	t.Helper()
	f, err := os.Open(path)
	require.NoError(t, err)
	defer f.Close()
	b := bufio.NewReader(f)
	var fields []int
	word := func() string {
		var s []byte
		for {
			c, err := b.ReadByte()
			require.NoError(t, err)
			switch {
			case c == '#':
				_, err := b.ReadString('\n')
				require.NoError(t, err)
			case c == ' ' || c == '\n':
				if len(s) > 0 {
					return string(s)
				}
			default:
				s = append(s, c)
			}
		}
	}
	require.Equal(t, "P6", word())
	for range 3 {
		n, err := strconv.Atoi(word())
		require.NoError(t, err)
		fields = append(fields, n)
	}
	r := &raster{w: fields[0], h: fields[1], pix: make([]byte, 3*fields[0]*fields[1]), dpi: dpi}
	_, err = io.ReadFull(b, r.pix)
	require.NoError(t, err)
	return r
}

// traced is one glyph as mupdf places it, its origin in mm from the upper left
// of the page.
type traced struct {
	font string
	r    rune
	x, y float64
	size float64
}

// trace returns the glyphs of a page by mutool's trace device.
func trace(t testing.TB, path string, pageNo int) []traced {
	t.Helper()
	dec := xml.NewDecoder(strings.NewReader(run(t, "mutool", "trace", path, strconv.Itoa(pageNo))))
	var out []traced
	var m [6]float64
	var font string
	var em float64
	for {
		token, err := dec.Token()
		if err == io.EOF {
			return out
		}
		require.NoError(t, err)
		e, ok := token.(xml.StartElement)
		if !ok {
			continue
		}
		get := func(name string) string {
			for _, a := range e.Attr {
				if a.Name.Local == name {
					return a.Value
				}
			}
			return ""
		}
		number := func(name string) float64 {
			v, err := strconv.ParseFloat(get(name), 64)
			require.NoError(t, err)
			return v
		}
		switch e.Name.Local {
		case "fill_text":
			for i, s := range strings.Fields(get("transform")) {
				m[i], err = strconv.ParseFloat(s, 64)
				require.NoError(t, err)
			}
		case "span":
			font = get("font")
			_, err := fmt.Sscanf(get("trm"), "%g", &em)
			require.NoError(t, err)
		case "g":
			x, y := number("x"), number("y")
			u := []rune(get("unicode"))
			if len(u) != 1 {
				continue
			}
			out = append(out, traced{font: font, r: u[0], size: em,
				x: (m[0]*x + m[2]*y + m[4]) * letters.PointMM, y: (m[1]*x + m[3]*y + m[5]) * letters.PointMM})
		}
	}
}

// mean returns the mean value of a block of n x n pixels.
func (r *raster) mean(x, y, n int) int {
	sum := 0
	for dy := range n {
		for _, v := range r.pix[3*((y+dy)*r.w+x) : 3*((y+dy)*r.w+x+n)] {
			sum += int(v)
		}
	}
	return sum / (3 * n * n)
}
