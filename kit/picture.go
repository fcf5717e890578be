package kit

import (
	"strconv"
	"strings"

	"kitwright/lab"
	"kitwright/photo"
	"kitwright/photo/tone"
)

// easyFrom is the calm from which drills should be easy to place: the tone
// then leaves out the sharpening, which costs lone drills.
const easyFrom = 0.75

// Picture is the photo on its canvas as it is to be painted, before border,
// caption and any color. Of a [Choice] it follows Focus, which makes what it
// circles part of the subject, and Calm, which leaves out the sharpening from
// .75 on.
type Picture struct {
	Subject *photo.Mask // cells of the picture; nil = not known
	Tone    tone.Changes
	After   *lab.Grid // after the tone
	Advice  []photo.Advice
}

// Picture returns the picture that a choice of colors is made for.
func (p *Prepared) Picture(c Choice) *Picture {
	p.mu.Lock()
	defer p.mu.Unlock()
	return p.picture(c)
}

// picture is Picture for whoever holds the lock.
func (p *Prepared) picture(c Choice) *Picture {
	key := strconv.FormatBool(c.Calm >= easyFrom) + focuses(&c.Focus).String()
	pic, _ := p.pictures.get(key, func() (*Picture, error) { // never fails
		pic := &Picture{Subject: p.circled(c.Focus)}
		var eyes []photo.Ellipse
		for _, f := range c.Focus {
			eyes = append(eyes, photo.Ellipse(f.Box))
		}
		pic.Advice = p.Photo.Advise(p.Layout.Crop, p.linear, p.sharp, pic.Subject, eyes)
		toned := p.linear
		if p.light.Tone == ToneAuto {
			toned, pic.Tone = tone.Apply(toned, pic.Subject, c.Calm >= easyFrom)
		}
		pic.After = toned.Grid()
		return pic, nil
	})
	return pic
}

// circled returns the subject with what a focus circles: an eye that the
// outline missed is no background.
func (p *Prepared) circled(focus []Focus) *photo.Mask {
	if p.found == nil || len(focus) == 0 {
		return p.found
	}
	m := *p.found
	m.In = append([]bool(nil), m.In...)
	at := p.Layout.Picture
	for _, f := range focus {
		cx, cy, rx, ry := p.Layout.Ellipse(f.Box, p.Photo.Width, p.Photo.Height)
		for i := range m.In {
			x, y := float64(at.X+i%at.W)+0.5, float64(at.Y+i/at.W)+0.5
			if dx, dy := (x-cx)/rx, (y-cy)/ry; float64(dx*dx)+float64(dy*dy) < 1 {
				m.In[i] = true
			}
		}
	}
	return &m
}

// sentences returns what to know about the photo, each a sentence and a hint.
func sentences(advice []photo.Advice) []string {
	out := []string{}
	for _, a := range advice {
		out = append(out, sentence(a.Says)+" To help: "+a.Try+".")
	}
	return out
}

// sentence makes a sentence of words that begin small and have no full stop.
func sentence(s string) string {
	return strings.ToUpper(s[:1]) + s[1:] + "."
}
