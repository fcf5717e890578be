package web

import (
	"testing"

	"github.com/stretchr/testify/assert"
)

// A board that was shifted and patched shows what one drawn anew shows, pixel
// by pixel: after pans, zooms, edits and another lit color.
func TestTheBoardShiftsAndPatchesRightly(t *testing.T) {
	inBrowser(t)
	o := openTable(t, Config{})
	b := browse(t, o, desktop)
	differ := eval[int](b, `(async () => {
		const { Board } = await import("/assets/board.mjs")
		const cols = 120, rows = 90, legend = Array.from({ length: 20 }, (_, i) => ({ hex: "#" + (0x204060 + i * 0x0b0507 & 0xffffff).toString(16).padStart(6, "0"), l: 4 * i, white: i < 10, path: "M-60 -60L60 -60L0 70Z" }))
		let s = 7
		const next = n => { s = s * 1103515245 + 12345 & 0x7fffffff; return s % n }
		const cells = new Uint8Array(cols * rows).map(() => next(20))
		const make = () => { const c = document.createElement("canvas"); const b = new Board(c); b.chart({ cols, rows, legend }, cells); b.resize(301, 203); return b }
		const a = make()
		a.to(14, 0, 0); a.frame()
		let differ = 0
		for (let i = 0; i < 60; i++) {
			const what = next(6)
			if (what < 3) { a.x += next(61) - 30; a.y += next(61) - 30; a.clamp() }
			else if (what === 3) a.put(Array.from({ length: next(9) + 1 }, () => [next(cols * rows), next(20)]))
			else if (what === 4) a.to([3, 9, 14, 24][next(4)], next(300), next(200))
			else a.light(next(21) - 1)
			a.frame()
			const f = make()
			f.lit = a.lit; f.size = a.size; f.x = a.x; f.y = a.y
			f.repaint(); f.frame()
			const p = new Uint32Array(a.g.getImageData(0, 0, a.w, a.h).data.buffer), q = new Uint32Array(f.g.getImageData(0, 0, f.w, f.h).data.buffer)
			for (let k = 0; k < p.length; k++) if (p[k] !== q[k]) differ++
		}
		return differ
	})()`)
	assert.Zero(t, differ, "pixels")
	b.clean()
}
