package kit

import (
	"bytes"
	"encoding/json"
	"maps"
	"slices"
	"strings"

	"github.com/spf13/pflag"

	"kitwright/internal/setting"
	"kitwright/internal/wording"
	"kitwright/palettes"
	"kitwright/plan"
)

// Supply returns how the kit's drills are counted and bought: as its prints
// were made with. What was set by hand and cannot be is as usual.
func (k *Kit) Supply() plan.Supply {
	s := plan.DefaultSupply()
	fs := pflag.NewFlagSet("supply", pflag.ContinueOnError)
	s.Bind(setting.Bind(fs))
	fs.VisitAll(func(f *pflag.Flag) {
		if text, told := k.Print[f.Name]; told {
			_ = f.Value.Set(text) // refused: it stays as it is
		}
	})
	if s.Check(k.Chart) != nil {
		return plan.DefaultSupply()
	}
	return s
}

// Buying returns the kit's drill list.
func (k *Kit) Buying() *plan.Buying { return plan.List(k.Chart, k.Supply(), k.Owned()) }

// Owned returns how many drills were owned of each color, by its address, when
// the kit was charted from them; nil where it was not.
func (k *Kit) Owned() map[string]int {
	if k.Own == nil {
		return nil
	}
	var lots []Lot
	if stock(&lots).Set(k.Order["stock"]) != nil {
		return nil // written by hand, and not as we do
	}
	owned := map[string]int{}
	for _, l := range lots {
		owned[l.Address] += l.Drills
	}
	return owned
}

// YourCode returns what she calls a drill, where she said so; else "".
func (k *Kit) YourCode(d palettes.Drill) string { return k.YourCodes[d.Address()] }

// fileBuy is what to have and to buy of a color or of all, in kit.json.
type fileBuy struct {
	YourCode string      `json:"your_code,omitempty"`
	Extra    int         `json:"extra"`  // for one canvas
	Copies   int         `json:"copies"` // of it
	Owned    int         `json:"owned,omitempty"`
	Buy      int         `json:"buy"` // for all copies, beside what is owned
	Bags     []fileBag   `json:"bags"`
	InBags   int         `json:"in_bags"`
	Price    json.Number `json:"price,omitempty"`
	Left     int         `json:"left_over"`
	Grams    json.Number `json:"grams,omitempty"` // for one canvas, with extra
	GramsOff json.Number `json:"grams_off,omitempty"`
}

// fileBag is how many of a bag to buy.
type fileBag struct {
	Drills int `json:"drills"`
	Count  int `json:"count"`
}

// told is a part of kit.json that is made of its other parts, and not read.
type told struct{ *fileBuy }

func (t told) MarshalJSON() ([]byte, error) {
	var b bytes.Buffer
	enc := json.NewEncoder(&b)
	enc.SetEscapeHTML(false)
	err := enc.Encode(t.fileBuy)
	return b.Bytes(), err
}

func (t *told) UnmarshalJSON([]byte) error { return nil }

func buyOf(s plan.Supply, l plan.Line) *fileBuy {
	b := &fileBuy{Extra: l.Extra, Copies: max(1, int(s.Copies)), Owned: l.Own, Buy: l.Buy, Bags: []fileBag{}, InBags: l.InBags, Price: priceOf(s, l), Left: l.Left}
	for i, n := range l.Bags {
		if n > 0 {
			b.Bags = append(b.Bags, fileBag{s.Bags.Sizes[i].Drills, n})
		}
	}
	grams, off := s.Weighed.Grams(l.Ready())
	b.Grams, b.GramsOff = json.Number(grams), json.Number(off)
	return b
}

// priceOf returns what a line costs; empty where no prices are told.
func priceOf(s plan.Supply, l plan.Line) json.Number {
	if !s.Bags.Priced {
		return ""
	}
	return json.Number(s.Bags.Money(l.Price))
}

// yours says whether her codes are such as --codes lets in.
func (f *file) yours() error {
	if len(f.Yours) > maxWords {
		return bad("it has %d of your codes, more than any kit", len(f.Yours))
	}
	for _, address := range slices.Sorted(maps.Keys(f.Yours)) {
		code := f.Yours[address]
		if wording.Color.Check(address) != nil || wording.Code.Check(code) != nil || strings.TrimSpace(code) == "" {
			return bad("your code %q for %q is none", wording.Short(code), wording.Short(address))
		}
	}
	return nil
}
