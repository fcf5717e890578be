package render

import "kitwright/kit"

// deskPaper is the paper of the pages that go to the shop or hang at the desk:
// Letter where the home paper is a North American one, else A4.
func (p Print) deskPaper() Paper {
	switch p.Paper.Name {
	case "letter", "legal", "tabloid":
		return paperNamed("letter")
	}
	return paperNamed("a4")
}

// deskMargin is the margin of those pages, mm.
func (p Print) deskMargin() float64 { return min(max(p.PaperMargin.MM(), 12), 20) }

// roomAround returns the margin of a page of w by h mm whose content is scaled
// about its middle for a measured printer: m, or more where the content would
// otherwise come within a millimeter of the page's edge.
func (p Print) roomAround(k *kit.Kit, m, w, h float64) float64 {
	const air = 1
	s := p.printerScale(k)
	return max(m, w/2-(w/2-air)/s[0], h/2-(h/2-air)/s[1])
}
