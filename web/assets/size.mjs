// The size: stock sizes to true scale beside a sheet of paper.
import { $, el, fill, n, svg, w } from "/assets/base.mjs"
import { change, canvas, state } from "/assets/work.mjs"

// Stock sizes in cm (common practice, no source).
const stock = [[8, 8], [10, 10], [15, 15], [20, 20], [20, 25], [30, 30], [30, 40], [40, 50], [50, 70], [60, 80]]
const inCm = text => {
  const m = /^([\d.]+)x([\d.]+)(mm|cm|in)$/.exec(text || "")
  if (!m) return null
  const k = { mm: .1, cm: 1, in: 2.54 }[m[3]]
  return [m[1] * k, m[2] * k]
}
const same = (a, b) => a && Math.min(...a) === Math.min(...b) && Math.max(...a) === Math.max(...b)
let other = false
let bought = [] // bags and what they cost, of the rung that is chosen

export function begin() { }

// rung tells what the chosen rung takes to buy, where she said how drills are
// sold.
export function rung(r) {
  bought = r?.bags ? [[r.bags, w("drills.bags")], r.price ? [r.price, w("drills.price")] : null].filter(Boolean) : []
  sums()
}

function sums() {
  if (!canvas) return
  fill($("sum"), [[n(canvas.drills), w("size.drills")], [canvas.hours, w("size.hours")], ...bought].map(([v, words]) => el("div", {}, el("dt", {}, words), el("dd", {}, v))))
}

export function show() {
  const now = inCm(state.order.size)
  const picked = state.order.grid ? null : stock.find(s => same(now, s))
  const wide = canvas ? canvas.width > canvas.height : false
  const pick = s => el("label", {}, el("input", { type: "radio", name: "size", value: s.join("x"), checked: !other && picked === s, onchange: () => { other = false; change({ size: s.join("x") + "cm", grid: "", turn: "photo", crop: "" }) } }), el("span", {}, (wide ? [...s].reverse() : s).join(" × ")))
  const isOther = other || !picked
  const focused = document.activeElement?.closest?.("#sizes input")?.value
  fill($("sizes"),
    el("fieldset", { class: "picks" }, el("legend", { class: "vh" }, w("size.legend")), stock.map(pick),
      el("label", {}, el("input", { type: "radio", name: "size", value: "other", checked: isOther, onchange: () => { other = true; show() } }), el("span", {}, w("size.other")))),
    isOther ? own(now ?? [30, 40]) : null)
  if (focused) document.querySelector(`#sizes input[value="${focused}"]`)?.focus()
  scale(now ?? [30, 40])
  if (!canvas) return
  sums()
  $("sizesays").textContent = w("size.says", canvas.cols, canvas.rows, +(canvas.width / 10).toFixed(1), +(canvas.height / 10).toFixed(1), canvas.pitch, w("drill." + state.order.drill))
}

function own(now) {
  const field = (i, words) => el("input", { type: "number", min: "3", max: "500", step: "0.5", value: String(+now[i].toFixed(1)), "aria-label": words, id: "own" + i })
  return el("form", { class: "other", onsubmit: e => { e.preventDefault(); other = false; change({ size: `${$("own0").value}x${$("own1").value}cm`, grid: "", turn: "asked", crop: "" }) } },
    field(0, w("size.w")), el("span", {}, "×"), field(1, w("size.h")), el("button", { class: "btn" }, w("size.take")))
}

// scale draws the sizes beside a sheet of paper, all to one scale.
function scale(now) {
  const turn = canvas && canvas.width > canvas.height !== now[0] > now[1]
  const me = turn ? [now[1], now[0]] : now
  const wide = me[0] > me[1]
  const letter = state.print.paper === "letter"
  const sheet = letter ? [21.59, 27.94] : [21, 29.7]
  const shown = stock.filter(s => s[1] <= Math.max(40, Math.max(...me) * 1.4)).map(s => wide ? [s[1], s[0]] : s)
  const all = [...shown, me]
  const W = Math.max(...all.map(s => s[0])), H = Math.max(...all.map(s => s[1]), sheet[1])
  const k = 10
  const r = (s, c) => svg("rect", { class: c, x: 2, y: (H - s[1]) * k, width: s[0] * k, height: s[1] * k })
  fill($("scale"), svg("svg", { class: "scale", viewBox: `0 0 ${(W + sheet[0] + 6) * k} ${(H + .5) * k}`, role: "img", "aria-label": w("size.scale", me.map(v => +v.toFixed(1)).join(" × "), w(letter ? "size.letter" : "size.a4")) },
    shown.map(s => r(s, "sz")), r(me, "sz on"),
    svg("rect", { class: "paper", x: (W + 4) * k, y: (H - sheet[1]) * k, width: sheet[0] * k, height: sheet[1] * k }),
    words(W + 4 + sheet[0] / 2, H - sheet[1] / 2, w(letter ? "size.letter" : "size.a4"))))
  function words(x, y, t) {
    const e = svg("text", { x: x * k, y: y * k, "text-anchor": "middle", "font-size": Math.max(14, H * k / 12) })
    e.textContent = t
    return e
  }
}
