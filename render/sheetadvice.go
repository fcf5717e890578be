package render

import (
	"kitwright/internal/measure"
	"kitwright/internal/say"
	"kitwright/kit"
)

// fewerSheets says what would make a tall pile of home pages lower, if anything
// does.
func (p Print) fewerSheets(k *kit.Kit) (t say.Text) {
	const many = 12
	if k == nil || k.Chart == nil {
		return t
	}
	now, err := newSheets(k, p)
	if err != nil || len(now.panels) < many {
		return t
	}
	pages := func(change func(p *Print)) int {
		q := p
		change(&q)
		s, err := newSheets(k, q)
		if err != nil || 10*s.count() > 9*now.count() {
			return 0
		}
		return s.count()
	}
	large := paperNamed("a3")
	if p.deskPaper().Name == "letter" {
		large = paperNamed("tabloid")
	}
	smaller := 0
	if least := measure.Length(3 * measure.Millimeter); !now.build && now.cell > least.MM() {
		smaller = pages(func(q *Print) { q.SheetCell = measure.Auto{Length: least, Given: true} })
	}
	larger := pages(func(q *Print) { q.Paper = large })
	switch {
	case smaller > 0 && larger > 0:
		return say.Textf("Your own printer needs %s of paper; with {sheet-cell} 3mm it is %s, with {paper} %s %s.", say.Count(now.count(), "sheet"), say.Number(smaller), large.Name, say.Number(larger))
	case larger > 0:
		return say.Textf("Your own printer needs %s of paper; with {paper} %s it is %s.", say.Count(now.count(), "sheet"), large.Name, say.Number(larger))
	case smaller > 0:
		return say.Textf("Your own printer needs %s of paper; with {sheet-cell} 3mm it is %s.", say.Count(now.count(), "sheet"), say.Number(smaller))
	}
	return t
}
