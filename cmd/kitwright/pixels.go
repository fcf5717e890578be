package main

import (
	"strconv"
	"strings"

	"github.com/spf13/pflag"

	"kitwright/internal/say"
	"kitwright/kit"
)

// boxFlags are the settings that name parts of a photo.
var boxFlags = []string{"crop", "crop-to", "subject", "add", "cut", "focus"}

// pixelBoxes are the parts that were named in pixels, by flag: how much of the
// photo they are is known once it is read.
type pixelBoxes map[string][]string

// wrap lets the flags that name parts of a photo take pixels of it, as in
// 760px,200px,90px,60px.
func (b pixelBoxes) wrap(fs *pflag.FlagSet) {
	for _, name := range boxFlags {
		if f := fs.Lookup(name); f != nil {
			f.Value = &pixelFlag{f.Value, b, name}
		}
	}
}

// pixelFlag is the value of such a flag.
type pixelFlag struct {
	pflag.Value
	boxes pixelBoxes
	name  string
}

func (f *pixelFlag) String() string {
	if f.Value == nil { // as pflag asks of a value's zero
		return ""
	}
	return strings.Join(append(f.boxes[f.name], nonEmpty(f.Value.String())...), ";")
}

func nonEmpty(s string) []string {
	if s == "" {
		return nil
	}
	return []string{s}
}

func (f *pixelFlag) Set(s string) error {
	var rest []string
	for part := range strings.SplitSeq(s, ";") {
		if !strings.Contains(part, "px") {
			rest = append(rest, part)
			continue
		}
		if _, ok := pixelsOf(part); !ok {
			return say.Usage("write left, top, width and height, as in 760px,200px,90px,60px", "%q is not a part of a photo in pixels", part)
		}
		f.boxes[f.name] = append(f.boxes[f.name], strings.TrimSpace(part))
	}
	if len(rest) == 0 {
		return nil
	}
	return f.Value.Set(strings.Join(rest, ";"))
}

// pixelsOf reads four lengths in pixels, and a weight behind them as it is.
func pixelsOf(s string) (v [4]float64, ok bool) {
	parts := strings.Split(s, ",")
	if len(parts) < 4 || len(parts) > 5 {
		return v, false
	}
	for i := range v {
		number, isPixels := strings.CutSuffix(strings.TrimSpace(parts[i]), "px")
		n, err := strconv.ParseUint(strings.TrimSpace(number), 10, 31)
		if !isPixels || err != nil {
			return v, false
		}
		v[i] = float64(n)
	}
	return v, true
}

// on sets the parts on an order, for a photo of w x h pixels.
func (b pixelBoxes) on(o *kit.Order, w, h int) error {
	fs := pflag.NewFlagSet("order", pflag.ContinueOnError)
	o.Bind(fs)
	for _, name := range boxFlags {
		f := fs.Lookup(name)
		for _, text := range b[name] {
			v, _ := pixelsOf(text)
			var parts []string
			for i, side := range [4]int{w, h, w, h} {
				parts = append(parts, strconv.FormatFloat(100*v[i]/float64(side), 'g', 10, 64))
			}
			if rest := strings.Split(text, ","); len(rest) == 5 {
				parts = append(parts, strings.TrimSpace(rest[4]))
			}
			if had := f.Value.String(); had != "" && (name == "add" || name == "cut" || name == "focus") {
				parts[0] = had + ";" + parts[0]
			}
			if err := f.Value.Set(strings.Join(parts, ",")); err != nil {
				if said, ok := err.(*say.Error); ok {
					return said.At("%s %s, of a photo of %d x %d pixels", say.Setting(name), text, w, h).OrTry("kitwright look shows the photo with a grid")
				}
				return err
			}
			f.Value = again(o, name) // one that adds to nothing
		}
	}
	return o.Check()
}

// again returns the value of a setting as if it had not been given yet.
func again(o *kit.Order, name string) pflag.Value {
	fs := pflag.NewFlagSet("order", pflag.ContinueOnError)
	o.Bind(fs)
	return fs.Lookup(name).Value
}
