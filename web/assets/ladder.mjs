// The ladder: the same photo in more and more colors, standing on a hillside.
// The lower a picture stands, the closer it comes; the hatched ground is what
// is proven. Cells come once a rung; pictures and loupes are drawn here.
import { $, boot, bytes, el, fill, frame, get, kit, n, on, oops, post, rest, rgb, svg, w, word32 } from "/assets/base.mjs"
import { canvas, change, state } from "/assets/work.mjs"
import * as look from "/assets/look.mjs"
import * as size from "/assets/size.mjs"

export let data = { rungs: [], counts: [8, 12, 18, 24, 30, 40, 60] }
const cells = new Map() // by colors and seq
let spot // in drills: left, top, width
let chosen = 0 // of the rungs, by what was asked
let photo // the photo, for the first column
let failed

export function begin() {
  photo = new Image()
  photo.src = kit + "/photo.jpg?w=1600"
  photo.decode().then(draw, () => { })
  on("ladder", e => { if (e.kit === boot.kit) fetchSoon() })
  on("laid", e => { if (e.kit === boot.kit) fetchSoon() })
  on("coarse", async e => {
    if (e.kit !== boot.kit || data.rungs.length) return
    look.coarse(await get(kit + "/coarse"))
  })
  on("job", e => { if (e.kit === boot.kit && (e.kind === "ladder" || e.kind === "kit")) job(e) })
  $("stop").addEventListener("click", () => post(kit + "/stop"))
  addEventListener("resize", draw)
}

export function show() { draw() }

// fetch gets what there is; where nothing is under way and nothing fits what
// is wanted, it asks for it.
export async function fetch(mayStart) {
  const d = await get(kit + "/ladder")
  const news = d.rungs.filter(r => !cells.has(r.asked + "/" + r.seq + r.hex.join()))
  await Promise.all(news.map(async r => { cells.set(r.asked + "/" + r.seq + r.hex.join(), await bytes(kit + "/rung/" + r.asked)) }))
  data = d
  for (const r of data.rungs) r.cells = cells.get(r.asked + "/" + r.seq + r.hex.join())
  if (cells.size > 40) for (const k of cells.keys()) if (!data.rungs.some(r => k === r.asked + "/" + r.seq + r.hex.join())) cells.delete(k)
  data.rungs = data.rungs.filter(r => r.cells && r.cells.length === data.cols * data.rows)
  if (d.cols && (!spot || spot.of !== d.cols + "x" + d.rows)) aim()
  choose()
  build()
  say()
  if (mayStart && !(d.now && d.over) && state.job !== "ladder") await post(kit + "/ladder")
}
const fetchSoon = rest(60, () => fetch(false).catch(e => fill($("news"), oops(e))))

function aim() {
  const size = Math.min(data.cols, data.rows, data.spot?.[2] || 28)
  spot = { n: size, of: data.cols + "x" + data.rows }
  const s = state.spot
  if (s?.length === 2) move(s[0] * data.cols, s[1] * data.rows)
  else if (data.spot?.[2]) { spot.x = data.spot[0]; spot.y = data.spot[1] } else move(data.cols / 2, data.rows / 2)
}

// move puts the middle of the spot at a drill.
function move(x, y) {
  spot.x = Math.round(Math.max(0, Math.min(data.cols - spot.n, x - spot.n / 2)))
  spot.y = Math.round(Math.max(0, Math.min(data.rows - spot.n, y - spot.n / 2)))
}

function choose() {
  const want = state.order.colors === "auto" ? data.pick : +state.order.colors
  const has = data.rungs.find(r => r.asked === want) ?? data.rungs.find(r => r.colors === want)
  chosen = has ? has.asked : data.rungs.length ? (data.rungs.find(r => r.asked >= (want || 24)) ?? data.rungs.at(-1)).asked : 0
  const r = data.rungs.find(r => r.asked === chosen)
  if (r) look.rung(r, data, spot)
  size.rung(r)
}

let built = ""
// build makes the columns; it is the same list as long as the counts are.
function build() {
  const counts = data.over ? data.rungs.map(r => r.asked) : [...new Set([...data.counts, ...data.rungs.map(r => r.asked)])].sort((a, b) => a - b)
  const key = counts.join() + "/" + data.rungs.map(r => r.asked).join() + data.builtin
  if (key !== built) {
    built = key
    const had = document.activeElement?.name === "rung" ? document.activeElement.value : null
    const list = counts.map(c => data.rungs.some(r => r.asked === c) ? full(c) : blank(c))
    fill($("rungs"), el("fieldset", { class: "rungs" }, el("legend", { class: "vh" }, w("ladder.legend")),
      el("div", { class: "ref" }, el("span", { class: "spot" }, pic("ref"), svg("svg", { viewBox: "0 0 100 100", preserveAspectRatio: "none", "aria-hidden": "true" }, svg("ellipse", { class: "ring0" }), svg("ellipse", { class: "ring1" }))),
        eye("ref", w("ladder.photoeye")), el("span", { class: "facts" }, el("b", {}, w("ladder.photo")), el("span", { class: "quiet" }, w("ladder.same")))),
      el("div", { class: "stage" }, svg("svg", { class: "hill", preserveAspectRatio: "none", "aria-hidden": "true" }), svg("svg", { class: "cliff", preserveAspectRatio: "none", "aria-hidden": "true" }),
        el("span", { class: "gl" }, w("ladder.ground")), el("ol", {}, list))))
    $("rungs").firstChild.style.setProperty("--n", counts.length)
    $("rungs").firstChild.style.setProperty("--nfr", counts.length + "fr")
    if (had) document.querySelector(`input[name=rung][value="${had}"]`)?.focus()
  }
  for (const r of data.rungs) facts(r)
  draw()
}

const pic = id => el("canvas", { class: "fin", id: "fin-" + id, width: 10, height: 10, role: "img", "aria-label": id === "ref" ? w("ladder.photopic") : w("ladder.pic", id) })
const eye = (id, words) => el("canvas", { class: "eye", id: "eye-" + id, width: 10, height: 10, role: "img", "aria-label": words })

function full(c) {
  const input = el("input", { type: "radio", name: "rung", value: String(c), id: "rung-" + c, onchange: () => take(c) })
  input.addEventListener("keydown", e => { // with Alt, the arrows move the loupes
    const d = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] }[e.key]
    if (!d || !e.altKey) return
    e.preventDefault()
    const step = e.shiftKey ? 10 : 2
    move(spot.x + spot.n / 2 + d[0] * step, spot.y + spot.n / 2 + d[1] * step)
    draw()
  })
  const fin = pic(c)
  fin.addEventListener("pointermove", e => point(e, fin))
  fin.addEventListener("pointerdown", e => point(e, fin))
  return el("li", { class: "rung", id: "li-" + c }, el("label", {}, input, el("span", { class: "stand" }, fin), el("span", { class: "dot" }), eye(c, w("ladder.eye", c)), el("span", { class: "facts", id: "facts-" + c })))
}

const blank = c => el("li", { class: "rung none", id: "li-" + c }, el("div", {}, el("span", { class: "blank" }), el("span", { class: "eyeblank" }), el("span", { class: "facts" }, el("b", {}, w("ladder.colors", c)), el("span", { class: "quiet" }, w("ladder.coming")))))

function point(e, fin) {
  const b = fin.getBoundingClientRect()
  const k = Math.min(b.width / data.cols, b.height / data.rows)
  move((e.clientX - b.left - (b.width - k * data.cols) / 2) / k, (e.clientY - b.top - (b.height - k * data.rows) / 2) / k)
  draw()
  remember()
}
const remember = rest(800, () => { state.spot = [(spot.x + spot.n / 2) / data.cols, (spot.y + spot.n / 2) / data.rows]; post(kit + "/order", { spot: state.spot }).catch(() => { }) })

function facts(r) {
  const tip = r.asked === data.pick
  const lines = [el("b", {}, w("ladder.colors", r.colors)),
    el("span", {}, w(r.subject > 0 ? "ladder.offsubject" : "ladder.off", r.near.toFixed(2))),
    el("span", {}, w("ladder.lone", n(r.lone))),
    r.few ? el("span", { class: "quiet" }, w("ladder.few", r.few, data.fewDrills)) : null,
    r.note ? el("span", { class: "quiet" }, r.note) : null,
    tip ? el("span", { class: "tip" }, w("ladder.tip")) : !data.over ? el("span", { class: "quiet" }, w(r.proven ? "ladder.proven" : "ladder.sofar")) : null]
  fill($("facts-" + r.asked), lines)
  $("li-" + r.asked).classList.toggle("sofar", !data.over && !r.proven)
}

async function take(c) {
  const r = data.rungs.find(r => r.asked === c)
  if (!r) return
  chosen = c
  look.rung(r, data, spot)
  size.rung(r)
  draw()
  await change({ colors: String(r.asked) }, { ladder: false })
}

export const asked = () => data.rungs.find(r => r.asked === chosen)?.asked ?? 0
export const colors = () => data.rungs.find(r => r.asked === chosen)?.colors ?? 0

const draw = frame(() => {
  const box = $("rungs").firstChild
  if (!box) return
  const stale = !data.now
  box.classList.toggle("stale", stale && data.rungs.length > 0)
  const cols = data.cols || canvas?.cols || 3, rows = data.rows || canvas?.rows || 4
  const style = getComputedStyle(box)
  const pw = parseFloat(style.getPropertyValue("--pic")) || 100
  const wide = $("ladder").querySelector(".fin")?.clientWidth || pw
  box.style.setProperty("--tall", Math.min(wide * rows / cols, wide * 1.8) + "px")
  $("ladder").style.setProperty("--tall", Math.min(wide * rows / cols, wide * 1.8) + "px")
  hill(box)
  const input = document.querySelector(`input[name=rung][value="${chosen}"]`)
  if (input) input.checked = true
  for (const r of data.rungs) {
    const fin = $("fin-" + r.asked)
    if (fin && fin.dataset.of !== r.seq + r.hex.join()) {
      fin.dataset.of = r.seq + r.hex.join()
      paint(fin, r)
    }
    loupe($("eye-" + r.asked), r)
  }
  reference(cols, rows)
})

// paint draws a rung at a pixel a drill; the browser makes it smaller.
function paint(c, r) {
  c.width = data.cols; c.height = data.rows
  const g = c.getContext("2d"), im = g.createImageData(data.cols, data.rows), to = new Uint32Array(im.data.buffer)
  const col = r.hex.map(h => word32(...rgb(h)))
  for (let i = 0; i < to.length; i++) to[i] = col[r.cells[i]]
  g.putImageData(im, 0, 0)
}

// loupe draws the spot drill by drill, each a little lighter above and darker
// below, as drills lie.
function loupe(c, r) {
  if (!c || !spot || !r.cells) return
  const want = Math.round(c.clientWidth * Math.min(2, devicePixelRatio)) || 100
  const px = Math.max(2, Math.ceil(want / spot.n))
  const side = px * spot.n
  if (c.width !== side) c.width = c.height = side
  const g = c.getContext("2d"), im = g.createImageData(side, side), to = new Uint32Array(im.data.buffer)
  const tones = r.hex.map(h => { const v = rgb(h); return [1.1, 1, .84].map(f => word32(...v.map(x => Math.min(255, Math.round(x * f))))) })
  for (let y = 0; y < spot.n; y++) for (let x = 0; x < spot.n; x++) {
    const t = tones[r.cells[(spot.y + y) * data.cols + spot.x + x]]
    for (let j = 0; j < px; j++) {
      const row = (y * px + j) * side + x * px
      for (let i = 0; i < px; i++) to[row + i] = i === px - 1 || j === px - 1 ? t[2] : i === 0 || j === 0 ? t[0] : t[1]
    }
  }
  g.putImageData(im, 0, 0)
}

// reference draws the photo as it is cropped, the ring, and the spot.
function reference(cols, rows) {
  if (!canvas || !photo.complete || !photo.naturalWidth || !$("fin-ref")) return
  const [x, y, cw, ch] = canvas.crop.map((v, i) => v * (i % 2 ? photo.naturalHeight : photo.naturalWidth) / 100)
  const c = $("fin-ref"), k = Math.max(1, Math.round(360 / cols))
  const [px, py, pw, ph] = canvas.picture
  c.width = cols * k; c.height = rows * k
  const g = c.getContext("2d")
  g.imageSmoothingQuality = "high"
  g.drawImage(photo, x, y, cw, ch, px * k, py * k, pw * k, ph * k)
  if (!spot) return
  for (const ring of document.querySelectorAll(".ref ellipse")) {
    ring.setAttribute("cx", 100 * (spot.x + spot.n / 2) / cols); ring.setAttribute("cy", 100 * (spot.y + spot.n / 2) / rows)
    ring.setAttribute("rx", 50 * spot.n / cols); ring.setAttribute("ry", 50 * spot.n / rows)
  }
  const e = $("eye-ref"), side = Math.round((e.clientWidth || 100) * Math.min(2, devicePixelRatio))
  e.width = e.height = side
  const ge = e.getContext("2d")
  ge.imageSmoothingQuality = "high"
  const sx = x + (spot.x - px) / pw * cw, sy = y + (spot.y - py) / ph * ch
  ge.drawImage(photo, sx, sy, spot.n / pw * cw, spot.n / ph * ch, 0, 0, side, side)
}

// hill draws slope and ground, and puts each picture on its step.
function hill(box) {
  const list = [...box.querySelectorAll(".rung")]
  const by = new Map(data.rungs.map(r => ["li-" + r.asked, r]))
  const H = 158
  const means = data.rungs.map(r => r.mean), grounds = data.rungs.filter(r => r.ground > 0).map(r => r.ground)
  const top = Math.max(...means, 0), low = Math.min(...means, ...grounds, top)
  const tall = 112 * Math.min(1, (top - low) / 1) // no mountain out of a molehill
  const y = v => top === low ? 40 : 34 + tall * (v - low) / (top - low)
  let last = data.rungs.length ? y(top) : 60
  const pts = [], soil = []
  list.forEach((li, i) => {
    const r = by.get(li.id)
    if (r) { last = y(r.mean); pts.push([i + .5, last]); if (r.ground > 0) soil.push([i + .5, y(r.ground)]) }
    li.style.setProperty("--y", last.toFixed(1))
    li.style.setProperty("--x", (100 * (top === low ? .3 : .1 + .85 * ((r?.mean ?? low) - low) / Math.max(1, top - low))).toFixed(1))
  })
  const N = list.length
  const path = (p, at) => p.map(([i, v], k) => {
    const [a, b] = at(i, v)
    if (!k) return `M${at(i - .5, v).join(" ")}L${a} ${b}`
    const [i0, v0] = p[k - 1], m = (i + i0) / 2
    return `C${at(m, v0).join(" ")} ${at(m, v).join(" ")} ${a} ${b}`
  }).join("") + (p.length ? "L" + at(p.at(-1)[0] + .5, p.at(-1)[1]).join(" ") : "")
  const draw = (s, at, foot, whole) => {
    s.setAttribute("viewBox", whole)
    const e = path(soil, at)
    fill(s, soil.length ? [svg("path", { class: "soil", d: e + foot }), svg("path", { class: "edge", d: e })] : null, svg("path", { class: "curve", d: path(pts, at) }))
  }
  const first = soil[0]?.[0] - .5, end = soil.at(-1)?.[0] + .5
  draw(box.querySelector(".hill"), (i, v) => [(100 * i).toFixed(1), (H - v).toFixed(1)], `L${100 * end} ${H}L${100 * first} ${H}Z`, `0 0 ${100 * N} ${H}`)
  const x = v => 100 * (top === low ? .3 : .1 + .85 * ((v - 34) / Math.max(1, tall) * Math.min(1, top - low)))
  draw(box.querySelector(".cliff"), (i, v) => [x(v).toFixed(1), (100 * i).toFixed(1)], `L0 ${100 * end}L0 ${100 * first}Z`, `0 0 100 ${100 * N}`)
  box.querySelector(".gl").hidden = !soil.length
}

function job(e) {
  if (e.kind === "ladder") {
    failed = e.state === "failed" ? e.error : null
    $("stop").hidden = !["waiting", "working"].includes(e.state)
    state.job = $("stop").hidden ? "" : "ladder"
    say(e)
    if (["done", "stopped", "failed"].includes(e.state)) fetchSoon()
  } else look.job(e)
}

function say(e) {
  if (failed) { fill($("statesays"), oops(failed)); return }
  const done = data.rungs.length, all = data.counts.length, proven = data.rungs.filter(r => r.proven).length
  if (data.over && data.now) {
    fill($("statesays"), data.why ? el("b", { class: "why" }, data.why) : "")
    $("ladderkey").textContent = w("ladder.key") + (data.builtin ? " " + w("ladder.builtin") : "") + (data.notes?.length ? " " + data.notes.join(" ") : "")
  } else if (state.job === "ladder" || e?.state === "working") {
    $("stop").hidden = false
    fill($("statesays"), done ? w("ladder.partly", done, all, proven) : w("ladder.working", e?.stage ? e.stage : ""))
  } else if (data.rungs.length) fill($("statesays"), w("ladder.stopped", done, all))
}
