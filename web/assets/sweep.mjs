// Lone drills, one after another: each is shown before it changes.
import { $, chip, el, fill, get, kit, n, oops, w } from "/assets/base.mjs"
import { board, cells, chart, put } from "/assets/chart.mjs"
import { send } from "/assets/edits.mjs"

let list, at

export function begin() { }

export function show() {
  if (list) return one()
  fill($("sweep"), el("p", { class: "row" }, el("button", { class: "btn", disabled: !chart.lone || !chart.judged, onclick: open }, w("sweep.open", n(chart.lone)))))
}

async function open() {
  try {
    list = (await get(kit + "/sweep")).lone
    at = 0
    if (board.size < 16) board.to(20, board.w / 2, board.h / 2)
    one()
  } catch (e) { fill($("sweep"), oops(e)) }
}

function close() { list = null; show(); $("sweep").querySelector("button").focus() }

const lone = ([x, y]) => {
  const v = cells[y * chart.cols + x]
  return [[0, -1], [-1, 0], [1, 0], [0, 1]].every(([i, j]) => x + i < 0 || y + j < 0 || x + i >= chart.cols || y + j >= chart.rows || cells[(y + j) * chart.cols + x + i] !== v)
}

function one() {
  while (at < list.length && (!lone(list[at]) || list[at].done)) at++
  if (at >= list.length) return close()
  const [x, y, , , before, after] = list[at]
  const from = chart.legend[cells[y * chart.cols + x]]
  const to = chart.legend[list[at][3]]
  if (!to) return close()
  const had = $("sweep").contains(document.activeElement)
  if (!shown || shown !== list[at]) { shown = list[at]; put({ x, y }) }
  const change = i => ({ act: "set", to: chart.legend[list[i][3]].address, box: [list[i][0], list[i][1], 1, 1] })
  const closer = list.map((s, i) => i).filter(i => i >= at && lone(list[i]) && list[i][5] <= list[i][4] + 2 && chart.legend[list[i][3]])
  fill($("sweep"), el("div", { class: "oops" },
    el("p", {}, el("b", {}, w("sweep.one", n(at + 1), n(list.length))), " ", w("sweep.says", x + 1, y + 1, before.toFixed(1), after.toFixed(1))),
    el("p", { class: "row" }, chip(from), el("span", {}, from.address, " → ", to.address), chip(to)),
    el("p", { class: "row" },
      el("button", { class: "btn first", id: "sweepyes", onclick: () => { const e = change(at); list[at].done = true; at++; send([e]) } }, w("sweep.yes")),
      el("button", { class: "btn", onclick: () => { list[at].done = true; at++; one() } }, w("sweep.no")),
      closer.length > 1 ? el("button", { class: "btn", onclick: () => { const all = closer.map(change).map((e, k) => ({ ...e, with: k > 0 })); list = null; send(all) } }, w("sweep.rest", closer.length)) : null,
      el("button", { class: "btn", onclick: close }, w("sweep.close")))))
  if (had) $("sweepyes").focus()
}
let shown
