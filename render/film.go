package render

import (
	"strings"

	"kitwright/internal/measure"
	"kitwright/internal/say"
	"kitwright/kit"
)

// strip is one piece of film: drills From to To along its width.
type strip struct{ From, To int }

// filmOver is how far the film reaches beyond the drills on every side: 2 to
// 3 mm, common practice, no source.
const filmOver = 2500 * measure.Micrometer

// filmStrips divides the picture into strips of film as wide as the roll, its
// seams on grid lines, every ten if that takes no more strips. Upright says
// that the strips run from top to bottom, so that seams lie between columns.
// One strip means no seam.
func filmStrips(k *kit.Kit, width measure.Auto) (strips []strip, upright bool) {
	cols, rows := k.Chart.Cols, k.Chart.Rows
	if !width.Given {
		return []strip{{0, cols}}, true
	}
	across, down := cutStrips(cols, k.Pitch, width.Length), cutStrips(rows, k.Pitch, width.Length)
	if len(down) < len(across) {
		return down, false
	}
	return across, true
}

func cutStrips(n int, pitch, width measure.Length) []strip {
	cut := func(step int) []strip {
		var out []strip
		for at := 0; at < n; {
			room := width
			if at == 0 {
				room -= filmOver
			}
			to := at + max(1, int(room/pitch)/step*step)
			if left := measure.Length(n-at)*pitch + filmOver; left <= room {
				to = n
			} else if to >= n { // the drills fit, the overhang doesn't
				to = max(at+1, (n-1)/step*step)
				if to <= at {
					to = at + 1
				}
			}
			out = append(out, strip{at, min(to, n)})
			at = to
		}
		return out
	}
	fine := cut(1)
	if int(width/pitch) > 20 {
		if tens := cut(10); len(tens) <= len(fine) {
			return tens
		}
	}
	return fine
}

// stripText tells the strips in words: "1–120, 121–200".
func stripText(strips []strip) string {
	var parts []string
	for _, s := range strips {
		parts = append(parts, say.Number(s.From+1)+"–"+say.Number(s.To))
	}
	return strings.Join(parts, ", ")
}
