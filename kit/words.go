package kit

import (
	"cmp"
	"fmt"
	"math"
	"strconv"
	"strings"

	"kitwright/internal/say"
)

// Words says how close the chart is to the photo, and what is proven about it,
// a sentence each.
func (k *Kit) Words() []say.Text {
	q, n := k.Quality, len(k.asMade().Chart.Legend)
	best := "the best"
	if q.BestColors > 0 || len(k.Chart.Legend) != n {
		best = fmt.Sprintf("the best %d", cmp.Or(q.BestColors, n))
	}
	n = min(n, len(k.Chart.Legend)) // what more do not get below, fewer do not either
	less := fmt.Sprintf("; no %d colors of this card get below %.2f (proven)", n, Floor2(q.MeanBound))
	if n == 1 {
		less = fmt.Sprintf("; no single color of this card gets below %.2f (proven)", Floor2(q.MeanBound))
	}
	photo := "photo"
	if k.Tone.Stops > 0 {
		photo = "photo, " + k.Tone.Brightened() + ","
	}
	text := fmt.Sprintf("%.2f off the %s on average", q.MeanMiss, photo)
	if q.SubjectMiss > 0 {
		text += fmt.Sprintf(", %.2f on the subject", q.SubjectMiss)
	}
	switch {
	case q.MeanProven: // also where nothing is missed and the bound is zero
		text += less
	case q.MeanBound == 0:
		text += fmt.Sprintf("; %s found by then reach %.2f, and nothing is proven", best, q.MeanBest)
	default:
		text += less + fmt.Sprintf(", and %s found reach %.2f", best, q.MeanBest)
	}
	said := say.Textf("%s.", text)
	if spent := k.spentOn(); !spent.Empty() && k.Own == nil {
		said = say.Textf("%s; the difference bought %s.", text, spent)
	}
	lines := []say.Text{said, say.Textf("Under 2 is hard to see side by side, over 5 is plain: our reading, no source.")}
	if k.Own != nil && k.asMade() == k { // it is about the kit as it was made
		lines = append(lines, k.Own.words(k)...)
	}
	switch {
	case k.Stopped && q.Bound == 0 && !q.Proven:
		lines = append(lines, say.Textf("The search was stopped early: how far these colors are from the best possible is not known."))
	case k.Stopped:
		lines = append(lines, say.Textf("The search was stopped early: for what was asked, these colors are at most %.2f percent from the best possible.", 100*q.Gap))
	}
	return lines
}

// Floor2 rounds a proven lower limit down to two decimals, so that it stays
// true.
func Floor2(v float64) float64 { return math.Floor(v*100) / 100 }

// asMade is the kit before it was changed by hand.
func (k *Kit) asMade() *Kit {
	if k.Edits == nil || len(k.Edits.InForce()) == 0 {
		return k
	}
	return k.Edits.Made
}

// spentOn says what the chart gave up its last bit of closeness for.
func (k *Kit) spentOn() say.Text {
	q := k.asMade().Quality
	const visible = 0.005 // what two decimals show
	painted := ""
	if b := k.Order["background"]; b != "" && b != "soft" && q.MeanMiss-q.MeanNearest >= visible {
		painted = b
	}
	var spent []any
	if q.MeanNearest-q.MeanBest-q.MeanExchanged-q.MeanLeftOut >= visible {
		if q.Bought != "" {
			spent = append(spent, say.Textf("%s", q.Bought))
		} else if asked := k.asked(painted); !asked.Empty() {
			spent = append(spent, asked)
		}
	}
	if q.MeanExchanged >= visible {
		spent = append(spent, say.Textf("colors that lay better"))
	}
	if q.MeanLeftOut >= visible {
		spent = append(spent, say.Textf("fewer colors, as {least} asked for"))
	}
	if q.MeanMiss-q.MeanNearest >= visible {
		if painted != "" {
			spent = append(spent, say.Textf("a background as asked for (%s)", painted))
		}
		if calm, err := strconv.ParseFloat(k.Order["calm"], 64); err != nil || calm >= easyFrom {
			spent = append(spent, say.Textf("calm areas with few lone drills"))
		} else {
			spent = append(spent, say.Textf("a closer look from across the room"))
		}
	}
	if k.Quality.MeanMiss-q.MeanMiss >= visible {
		spent = append(spent, say.Textf("what was changed by hand"))
	}
	if len(spent) == 0 {
		return say.Text{}
	}
	return say.Textf(list(len(spent)), spent...)
}

// list joins so many: "%s, %s and %s".
func list(n int) string {
	if n < 2 {
		return "%s"
	}
	return strings.Repeat("%s, ", n-2) + "%s and %s"
}

// asked names the settings that ask for other colors than the plain mean, but
// not a background that is told by itself.
func (k *Kit) asked(painted string) say.Text {
	var names []any
	for _, name := range []string{"focus", "subject", "rare", "keep", "avoid", "border", "caption", "background"} {
		if v := k.Order[name]; v != "" && v != "0" && v != "none" && v != "soft" && !(name == "background" && v == painted) {
			names = append(names, say.Setting(name))
		}
	}
	switch {
	case len(names) == 0 && painted != "":
		return say.Text{}
	case len(names) == 0:
		return say.Textf("what was asked for")
	}
	return say.Textf("what "+list(len(names))+" asked for", names...)
}

// Words says what was done to the size and the photo to fit each other, a
// sentence each.
func (l Layout) Words() []say.Text {
	var notes []say.Text
	if l.Turned {
		notes = append(notes, say.Textf("Width and height were swapped to follow the photo ({turn} asked keeps them)."))
	}
	if l.Smaller {
		notes = append(notes, say.Textf("The picture is smaller than asked one way, so that the whole photo fits ({fit} fill crops instead)."))
	}
	if l.Cut >= 0.005 {
		// Never all of it: something is left to chart.
		notes = append(notes, say.Textf("%.0f %% of the photo was cropped to fill the picture ({fit} whole keeps all of it).", min(100*l.Cut, 99)))
	}
	if l.Slid {
		notes = append(notes, say.Textf("The part of the photo that is charted was moved to hold your pet ({crop-to} says what to hold instead)."))
	}
	if len(l.Short) > 0 {
		notes = append(notes, say.Textf("What {crop-to} names has not all room: it is cut at the %s edge ({fit} whole or another {size} keeps it whole).", strings.Join(l.Short, " and the ")))
	}
	if len(l.CutsAt) > 0 {
		notes = append(notes, say.Textf("Your pet is cut at the %s edge ({fit} whole, {crop} or another {size} keeps it whole).", strings.Join(l.CutsAt, " and the ")))
	}
	return notes
}
