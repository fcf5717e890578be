// The chart: from the whole piece to single drills, colors lit, drills changed.
import { $, boot, bytes, chip, el, fill, few, get, kit, n, on, oops, post, w } from "/assets/base.mjs"
import { Board, steer } from "/assets/board.mjs"
import * as edits from "/assets/edits.mjs"
import * as sweep from "/assets/sweep.mjs"

export let chart // as the table tells it
export let cells
export const board = new Board($("board"))
let off // how far each drill is off, in tenths
let painting = false
let said = 0

export async function begin() {
  try { await load() } catch (e) {
    $("closeup").hidden = true
    fill($("chartnews"), oops(e), el("p", {}, el("a", { class: "btn first", href: "/kit/" + boot.kit }, w("nav.work"))))
    on("kit", () => location.reload())
    return
  }
  const left = sessionStorage.getItem("left" + boot.kit)
  if (left) {
    sessionStorage.removeItem("left" + boot.kit)
    fill($("chartnews"), el("div", { class: "oops" }, el("p", {}, el("b", {}, w("chart.left"))), el("ul", {}, JSON.parse(left).map(s => el("li", {}, s)))))
  }
  steer($("glass"), board, { point, hover: c => c && glance(c), brush: () => painting ? edits.stroke(board.lit) : null })
  $("glass").addEventListener("keydown", keys)
  $("glass").addEventListener("focus", () => { if (!board.cursor) put({ x: chart.cols >> 1, y: chart.rows >> 1 }) })
  for (const r of document.querySelectorAll("input[name=how]")) r.addEventListener("change", () => { board.mode = r.value })
  $("in").addEventListener("click", () => board.zoom(2))
  $("out").addEventListener("click", () => board.zoom(-2))
  $("whole").addEventListener("click", () => board.whole())
  $("bags").addEventListener("keydown", bagKeys)
  $("reader").addEventListener("toggle", readout)
  edits.begin()
  sweep.begin()
  on("kit", e => { if (e.kit === boot.kit) load().catch(e => fill($("chartnews"), oops(e))) })
  on("again", edits.again)
  on("edited", e => { if (e.kit === boot.kit) edits.elsewhere(e) })
}

// load gets the chart as it is on the table.
export async function load(quick) {
  const c = quick ?? await get(kit + "/chart")
  const same = chart && cells && c.legend.length === chart.legend.length && c.legend.every((l, i) => l.address === chart.legend[i].address) && quick
  const lit = chart && board.lit >= 0 ? chart.legend[board.lit]?.address : null
  if (!same) cells = await bytes(kit + "/cells")
  chart = c
  off = null
  board.lit = lit ? chart.legend.findIndex(l => l.address === lit) : -1
  board.chart(chart, cells)
  show()
}

// show brings everything beside the board up to date.
export function show() {
  $("chartsums").textContent = w("chart.sums", n(chart.drills), chart.legend.length, chart.hours, chart.mean.toFixed(2), n(chart.lone))
  bags()
  lit()
  edits.show()
  sweep.show()
  if (chart.stale) fill($("chartnews"), el("p", { class: "oops" }, w("chart.stale"), " ", el("button", { class: "btn", onclick: remake }, w("chart.remake"))))
  else if ($("chartnews").dataset.stale) fill($("chartnews"))
  $("chartnews").dataset.stale = chart.stale ? "yes" : ""
}

// remake makes the kit of what is wanted now.
export async function remake() {
  fill($("chartnews"), el("p", { class: "toast", role: "status" }, w("look.making")))
  try { await post(kit + "/choose", { colors: (await get(kit)).order.colors, make: true }) } catch (e) { fill($("chartnews"), oops(e)) }
}

const most = () => Math.max(...chart.legend.map(l => l.count))
function bags() {
  const had = document.activeElement === $("bags")
  fill($("bags"), chart.legend.map((l, i) => el("div", { class: "bag", role: "option", id: "bag-" + i, "aria-selected": String(i === board.lit), onclick: () => light(i === board.lit ? -1 : i) },
    chip(l), el("span", {}, el("b", {}, l.address), l.name ? " " + l.name : "", el("span", { class: "quiet" }, " " + few("count.drills", l.count))),
    el("meter", { min: "0", max: "1", value: String(Math.sqrt(l.count / most()).toFixed(3)), "aria-hidden": "true" }))))
  $("bags").setAttribute("aria-activedescendant", "bag-" + Math.max(0, board.lit))
  if (had) $("bags").focus()
}

function bagKeys(e) {
  const N = chart.legend.length
  const to = { ArrowDown: board.lit + 1, ArrowUp: board.lit < 0 ? N - 1 : board.lit - 1, Home: 0, End: N - 1, Escape: -1 }[e.key]
  if (to === undefined) return
  e.preventDefault()
  light(to === -1 ? -1 : (to + N) % N)
  $("bag-" + Math.max(0, board.lit)).scrollIntoView({ block: "nearest" })
}

// light shows where a color is.
export function light(i) {
  board.light(i)
  if (i < 0) setPainting(false)
  for (const b of $("bags").children) b.setAttribute("aria-selected", String(b.id === "bag-" + i))
  $("bags").setAttribute("aria-activedescendant", "bag-" + Math.max(0, i))
  lit()
}

// turned shows that a color is kept or left out now, or no longer.
export async function turned(c) {
  await load(c)
  if (c.anew) fill($("chartnews"), el("p", { class: "toast", role: "status" }, w("look.making")))
}

let near = {}
async function lit() {
  const l = chart.legend[board.lit]
  if (!l) return fill($("lit"), el("p", { class: "quiet" }, w("chart.nolit")))
  const keep = chart.keep.includes(l.address)
  const act = async act => {
    try { await turned(await post(kit + "/turn", { act, code: l.address })) } catch (e) { fill($("chartnews"), oops(e)) }
  }
  fill($("lit"),
    el("div", { class: "litcolor" }, chip(l), el("div", {}, el("p", { class: "code" }, l.address), el("p", {}, l.name || l.hex), el("p", { class: "quiet" }, w("chart.litsays", l.number, l.symbol, few("count.drills", l.count))))),
    el("p", { class: "row" },
      el("button", { class: "btn first", id: "paint", "aria-pressed": String(painting), onclick: () => setPainting(!painting) }, w(painting ? "chart.painting" : "chart.paint")),
      el("button", { class: "btn", onclick: () => act(keep ? "free" : "keep") }, w(keep ? "chart.unkeep" : "chart.keep")),
      el("button", { class: "btn", onclick: () => act("avoid") }, w("chart.avoid"))),
    el("h3", {}, w("chart.near")), el("ul", { class: "near", id: "near" }))
  if (near.of !== l.address || near.log !== chart.log) {
    try { near = { of: l.address, log: chart.log, list: (await get(kit + "/near?of=" + encodeURIComponent(l.address))).near } } catch { return }
  }
  if (!$("near") || chart.legend[board.lit]?.address !== near.of) return
  fill($("near"), near.list.slice(0, 5).map(c => el("li", {}, chip({ ...chart.legend.find(x => x.address === c.address), ...c }), el("span", {}, el("b", {}, c.address), " ", c.name, el("span", { class: "quiet" }, " ", w(c.here ? "chart.here" : "chart.new", c.off.toFixed(1)))),
    el("button", { class: "btn", "aria-label": w("chart.swapto", c.address), onclick: () => edits.send([{ act: "swap", from: l.address, to: c.address }]) }, w("chart.swap")))))
}

function setPainting(is) {
  painting = is
  $("glass").classList.toggle("brush", is)
  if ($("paint")) { $("paint").setAttribute("aria-pressed", String(is)); $("paint").textContent = w(is ? "chart.painting" : "chart.paint") }
}

function point(c) { put(c); light(cells[c.y * chart.cols + c.x]) }

// put moves the cursor and says what lies there.
export function put(c) {
  board.cursor = { x: Math.max(0, Math.min(chart.cols - 1, c.x)), y: Math.max(0, Math.min(chart.rows - 1, c.y)) }
  board.show(board.cursor)
  glance(board.cursor, true)
  if ($("reader").open) readout()
}

const words = (c, more) => {
  const l = chart.legend[cells[c.y * chart.cols + c.x]]
  let text = w("chart.says", c.x + 1, c.y + 1, l.address, l.name || l.hex, l.symbol, l.number)
  if (more && off) {
    const row = c.y * chart.cols
    let a = c.x, b = c.x
    while (a > 0 && cells[row + a - 1] === cells[row + c.x]) a--
    while (b < chart.cols - 1 && cells[row + b + 1] === cells[row + c.x]) b++
    text += " " + w("chart.more", (off[row + c.x] / 10).toFixed(1), b - a + 1)
  }
  return text
}

// glance says what is under pointer or cursor, at most each 150 ms.
let waiting
async function glance(c, now) {
  clearTimeout(waiting)
  const go = async () => {
    said = performance.now()
    if (!off && chart.judged) off = await bytes(kit + "/off").catch(() => null)
    $("spoken").textContent = words(c, true)
  }
  const rest = 150 - (performance.now() - said)
  if (rest <= 0 || now && rest < 50) await go()
  else waiting = setTimeout(go, rest)
}

function keys(e) {
  if (e.ctrlKey || e.metaKey) {
    if (e.key === "z") { e.preventDefault(); edits.back(e.shiftKey ? "redo" : "undo") }
    if (e.key === "y") { e.preventDefault(); edits.back("redo") }
    return
  }
  const c = board.cursor ?? { x: 0, y: 0 }
  const view = Math.max(1, Math.floor(board.h / board.size) - 2)
  const step = e.shiftKey ? 10 : 1
  const to = { ArrowLeft: [-step, 0], ArrowRight: [step, 0], ArrowUp: [0, -step], ArrowDown: [0, step], PageUp: [0, -view], PageDown: [0, view] }[e.key]
  const k = e.key.toLowerCase()
  if (to) put({ x: c.x + to[0], y: c.y + to[1] })
  else if (e.key === "+" || e.key === "=") { board.zoom(1); board.show(c) }
  else if (e.key === "-") { board.zoom(-1); board.show(c) }
  else if (e.key === "0") board.whole()
  else if (k === "c") light(cells[c.y * chart.cols + c.x])
  else if (k === "f") find(e.shiftKey ? -1 : 1)
  else if (k === "i") glance(c, true)
  else if (k === "s" && board.lit >= 0) { const s = edits.stroke(board.lit); s.at(c); s.end() }
  else if (e.key === "Escape") light(-1)
  else return
  e.preventDefault()
}

// find goes to the next drill of the lit color.
function find(by) {
  if (board.lit < 0) return
  const c = board.cursor, N = cells.length
  for (let k = 1, i = c.y * chart.cols + c.x; k <= N; k++) {
    i = (i + by + N) % N
    if (cells[i] === board.lit) return put({ x: i % chart.cols, y: Math.floor(i / chart.cols) })
  }
}

// readout writes the rows in sight as runs: also what a multi-placer wants.
function readout() {
  if (!$("reader").open) return
  const c = board.cursor ?? { x: 0, y: 0 }
  const y0 = Math.max(0, Math.min(chart.rows - 40, c.y - 20)), y1 = Math.min(chart.rows, y0 + 40)
  const x0 = Math.max(0, Math.min(chart.cols - 40, c.x - 20)), x1 = Math.min(chart.cols, x0 + 40)
  const rows = []
  for (let y = y0; y < y1; y++) {
    const runs = []
    for (let x = x0; x < x1;) {
      let e = x
      while (e < x1 && cells[y * chart.cols + e] === cells[y * chart.cols + x]) e++
      runs.push(w("chart.run", e - x, chart.legend[cells[y * chart.cols + x]].address))
      x = e
    }
    rows.push(el("tr", {}, el("th", { scope: "row" }, String(y + 1)), el("td", {}, runs.join(", "))))
  }
  fill($("readout"), el("table", { class: "runs" }, el("caption", {}, w("chart.part", x0 + 1, x1, y0 + 1, y1)), el("thead", {}, el("tr", {}, el("th", { scope: "col" }, w("chart.row")), el("th", { scope: "col" }, w("chart.runs")))), el("tbody", {}, rows)))
}
