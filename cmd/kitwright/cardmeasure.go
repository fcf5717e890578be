package main

import (
	"context"
	"errors"
	"fmt"
	"image"
	"image/png"
	"io"
	"os"
	"path/filepath"
	"strconv"
	"strings"

	"github.com/spf13/pflag"

	"kitwright/internal/input"
	"kitwright/internal/say"
	"kitwright/lab"
	"kitwright/palettes/gauge"
	"kitwright/photo"
	"kitwright/render"
)

// codeSource is where codes come from: a flag, a file, or both.
type codeSource struct {
	codes []string
	file  string
}

func (c *codeSource) bind(fs *pflag.FlagSet) {
	fs.Var(codeList{&c.codes}, "codes", "the codes, CODE/FINISH for a finish; one with a comma in \"quotes\"")
	fs.Var(textValue{&c.file, "FILE"}, "file", "a file of codes: one a line, or the first column of a table")
}

func (c *codeSource) all() ([]string, error) {
	if c.file == "" {
		return c.codes, nil
	}
	more, err := readCodes(c.file)
	return append(c.codes[:len(c.codes):len(c.codes)], more...), err
}

// measuring is the flags of card measure.
type measuring struct {
	codes         codeSource
	frame         bool
	layout        string
	corners       pointList
	target        string
	targetCorners pointList
	fill          float64
	paper         string
	out, seen     string
	force         bool
	form          listingForm
}

func cardMeasureCommand() command {
	return command{
		name: "card measure", args: "PHOTO...", summary: "measure a card from photos or scans of it",
		about: `Reads colors from a photo or scan of your supplier's own color card, or of our measuring sheet.
			For a supplier's card give --layout, a file with the codes as they lie (a row a line), and
			--corners, the outer corners of the grid of colors in pixels, clockwise from the top left. Our
			sheet (--frame) is found by its markers. With a 24-patch target in the picture (--target) the
			camera's colors are learned from it; without one, a photo in daylight or a scan is good for
			look-alikes within 1.5 to 2.5, lamp light is not. Several photos are averaged. Every code gets
			a certainty, and a picture shows what was read. See-through, AB, neon and metallic drills look
			different in every light: their colors stay uncertain. Take away what small children and pets
			could swallow before you turn to the camera.`,
		example: "kitwright card measure card.jpg --layout codes.csv --corners 210,180,3800,190,3790,2700,220,2690 -o my-drills.csv\nkitwright card measure --frame --file owned.txt page1.jpg page2.jpg -o my-drills.csv",
		bind: func(fs *pflag.FlagSet) func(context.Context, env, []string) error {
			m := measuring{fill: gauge.Fill}
			m.bind(fs)
			return func(ctx context.Context, e env, args []string) error { return m.run(ctx, e, args) }
		},
	}
}

func (m *measuring) bind(fs *pflag.FlagSet) {
	fs.VarP(textValue{&m.out, "FILE"}, "out", "o", "the card to write, a CSV file; to the screen unless given")
	fs.Var(textValue{&m.seen, "FILE"}, "seen", "the picture of what was read; beside the card with the ending .seen.png unless given")
	fs.BoolVar(&m.force, "force", false, "overwrite files that exist")
	m.form.bind(fs)
	fs.Var(textValue{&m.layout, "FILE"}, "layout", "the supplier's card: its codes as they lie, a row a line, with commas between; an empty place stays empty")
	fs.Var(&m.corners, "corners", "the outer corners of the grid of colors (of the colors, not of the paper), in pixels of the photo as you see it, from the top left clockwise; those of several photos one after the other with semicolons; of a measuring sheet the middles of its black squares, where they are not found")
	fs.Var(numberValue{&m.fill}, "fill", "how much of the way from one color to the next a color takes")
	fs.BoolVar(&m.frame, "frame", false, "the photos show measuring sheets of card frame")
	m.codes.bind(fs)
	fs.Var(textValue{&m.target, "2005|2014"}, "target", "the edition of the 24-patch target in the picture: 2005, or 2014 for those made from November 2014 on")
	fs.Var(&m.targetCorners, "target-corners", "middles of the target's corner patches in pixels: dark skin, bluish green, black, white")
	fs.Var(textValue{&m.paper, "L,a,b"}, "paper-color", "the white paper between the colors, where it was measured (95,0,-2 unless given)")
}

// check refuses flags that do not go together.
func (m *measuring) check(args []string) error {
	switch {
	case len(args) == 0:
		return say.Usage("kitwright card measure card.jpg --layout codes.csv --corners ...", "no photo was named")
	case m.frame == (m.layout != ""):
		return say.Usage("{layout} for a supplier's card, {frame} for our measuring sheet", "it has to be said what the photo shows")
	case !m.frame && len(m.corners) != len(args):
		return say.Usage("8 numbers for each photo: x,y of each corner, clockwise from the top left", "{corners} are needed for each of %d photos", len(args))
	case m.frame && len(m.corners) != 0 && len(m.corners) != len(args):
		return say.Usage("8 numbers for each photo, or none", "{corners} were given for %d of %d photos", len(m.corners), len(args))
	case m.target != "" && m.target != "2005" && m.target != "2014":
		return say.Usage("2014 for targets made from November 2014 on, else 2005", "{target} takes 2005 or 2014, not %q", m.target)
	case m.target != "" && len(m.targetCorners) != len(args):
		return say.Usage("8 numbers for each photo", "{target-corners} are needed for each of %d photos", len(args))
	case m.target == "" && len(m.targetCorners) > 0:
		return say.Usage("2014 for targets made from November 2014 on, else 2005", "{target-corners} need {target}")
	}
	return m.form.check()
}

func (m *measuring) run(ctx context.Context, e env, args []string) error {
	if err := m.check(args); err != nil {
		return err
	}
	opt := gauge.Options{Target: map[string]gauge.Target{"2005": gauge.Target2005, "2014": gauge.Target2014}[m.target]}
	if m.paper != "" {
		var err error
		if opt.Paper, err = readLab(m.paper); err != nil {
			return err
		}
	}
	shown, err := m.shown()
	if err != nil {
		return err
	}
	seenName := m.seen
	if seenName == "" && m.out != "" {
		seenName = strings.TrimSuffix(m.out, filepath.Ext(m.out)) + ".seen.png"
	}
	for _, path := range append(seenNames(seenName, len(args)), m.out) {
		if _, err := os.Lstat(path); path != "" && err == nil && !m.force {
			return say.Failed("choose another name with {out}, or overwrite it with {force}", "%s exists already", path)
		}
	}
	ctx, done := showProgress(ctx, e.terminal, false)
	defer done()
	var readings []*gauge.Reading
	var pictures []*image.NRGBA
	var ends []string
	for i, path := range args {
		say.Step(ctx, "reading "+filepath.Base(path), i, len(args))
		img, scale, err := readPicture(ctx, path)
		if err != nil {
			return err
		}
		here := opt
		if m.target != "" {
			here.TargetCorners = m.targetCorners[i].scaled(scale)
		}
		var corners *[4]gauge.Point
		if len(m.corners) > 0 {
			at := m.corners[i].scaled(scale)
			corners = &at
		}
		r, _, err := shown.Read(img, corners, here)
		if err != nil {
			return inFile(path, err)
		}
		if err := ctx.Err(); err != nil {
			return err
		}
		readings = append(readings, r)
		pictures = append(pictures, r.Draw(img))
		first, last := r.Ends()
		ends = append(ends, fmt.Sprintf("%s: read as %s at the upper left and %s at the lower right; see that they lie there.", filepath.Base(path), first, last))
	}
	done()
	card := gauge.Combine(cardName(m.out), readings)
	return m.tell(ctx, e, card, pictures, ends, seenName)
}

// seenNames are the names of the pictures of what was read: the second has -2
// before its ending, and so on.
func seenNames(first string, n int) (names []string) {
	if first == "" {
		return nil
	}
	for i := range n {
		name := first
		if i > 0 {
			name = strings.TrimSuffix(first, ".png") + "-" + strconv.Itoa(i+1) + ".png"
		}
		names = append(names, name)
	}
	return names
}

// shown returns what lies where on what the photos show.
func (m *measuring) shown() (is gauge.Shown, err error) {
	if m.frame {
		codes, err := m.codes.all()
		if err != nil {
			return is, err
		}
		is.Frames, err = render.FramesOf(codes)
		return is, err
	}
	codes, err := readLayout(m.layout)
	if err != nil {
		return is, err
	}
	is.Grid, err = gauge.Grid(codes, m.fill)
	return is, err
}

// tell writes the card and the picture of what was read, and says how far both
// can be trusted.
func (m *measuring) tell(ctx context.Context, e env, card *gauge.Card, pictures []*image.NRGBA, ends []string, seenName string) error {
	if seenName != "" {
		for i, name := range seenNames(seenName, len(pictures)) {
			img := pictures[i]
			if err := writeFile(ctx, name, m.force, isPNG, func(w io.Writer) error { return png.Encode(w, img) }); err != nil {
				return err
			}
		}
	}
	if m.out == "" && m.form.forPeople() {
		if err := card.WriteCSV(e.stdout); err != nil {
			return err
		}
	} else if m.out != "" {
		if err := writeFile(ctx, m.out, m.force, isCard, card.WriteCSV); err != nil {
			return err
		}
	}
	words := e.stderr
	if m.out != "" && m.form.forPeople() {
		words = e.stdout
		fmt.Fprintf(words, "%s  %s\n", m.out, say.Count(len(card.Card.Drills), "color"))
	}
	if !m.form.forPeople() {
		l := listing{head: []string{"code", "finish", "hex", "L", "a", "b", "certainty", "why"}}
		for i, d := range card.Card.Drills {
			r := card.Reads[i]
			l.add(d.Code, string(d.Finish), lab.Hex(d.RGB), d.Lab.L, d.Lab.A, d.Lab.B, string(r.Certainty), r.Why)
		}
		if err := l.write(e.stdout, m.form); err != nil {
			return err
		}
	}
	if seenName != "" {
		fmt.Fprintf(words, "%s  what was read: look at it before you trust the card\n", seenName)
	}
	tellLines(words, ends)
	fmt.Fprintf(words, "Certainty: %d good, %d fair, %d poor. %s.\n", card.Count(gauge.Good), card.Count(gauge.Fair), card.Count(gauge.Poor), capital(card.Expect))
	if card.Pictures > 1 && card.ApartP95 > 0 {
		fmt.Fprintf(words, "The photos disagree by %.1f on average, one code in twenty by %.1f or more.\n", card.Apart, card.ApartP95)
	}
	for _, w := range card.Warnings {
		fmt.Fprintf(words, "Mind: %s.\n", w)
	}
	return nil
}

func capital(s string) string {
	if s == "" {
		return s
	}
	return strings.ToUpper(s[:1]) + s[1:]
}

func inFile(path string, err error) error {
	var said *say.Error
	if errors.As(err, &said) {
		return said.At("%s", path)
	}
	return err
}

// readPicture reads a photo as sRGB, upright, and how much it was reduced.
func readPicture(ctx context.Context, path string) (*image.NRGBA, float64, error) {
	f, err := input.Open(path, "photo")
	if err != nil {
		return nil, 0, err
	}
	defer f.Close()
	p, err := photo.Read(ctx, f, photo.Limits{Pixels: 80_000_000})
	if err != nil {
		return nil, 0, inFile(path, err)
	}
	img, scale := p.Upto(gauge.LongSide)
	return img, scale, nil
}

// readLayout reads the codes of a supplier's card as they lie.
func readLayout(path string) ([][]string, error) {
	text, err := readSmall(path, "layout")
	if err != nil {
		return nil, err
	}
	return gauge.ParseLayout(path, text)
}
