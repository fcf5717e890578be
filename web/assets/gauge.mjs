// A card measured from a photo of it: four corners are dragged onto the photo,
// what was read is shown, and it is kept as a card of hers.
import { $, call, chip, el, fill, n, oops, post, svg, w } from "/assets/base.mjs"

let shown // the picture in hand: its id, width and height
let corners // in its pixels, from the top left clockwise
let found = true // they are looked for, where our sheet shows them
let use // what becomes of the card that is kept

// part is the place for all of it, in the list of cards.
export function part(then) {
  use = then
  return el("section", { class: "more", "aria-labelledby": "gaugeh" }, el("h2", { id: "gaugeh" }, w("gauge.title")), el("p", { class: "quiet small" }, w("gauge.lead")),
    el("p", { class: "row" }, el("label", { class: "btn" }, el("input", { class: "vh", type: "file", id: "gaugefile", accept: "image/*,.heic,.heif,.avif,.tif,.tiff", onchange: e => bring(e.target.files[0]) }), w("gauge.bring"))),
    el("div", { id: "gaugenews", role: "status" }), el("div", { id: "gauge" }))
}

async function bring(file) {
  if (!file) return
  fill($("gaugenews"), el("p", { class: "quiet" }, w("start.reading", file.name)))
  try {
    shown = await call("POST", "/api/gauge?name=" + encodeURIComponent(file.name), file)
    fill($("gaugenews"))
    const [x, y] = [shown.width, shown.height]
    corners = [[.1, .1], [.9, .1], [.9, .9], [.1, .9]].map(([a, b]) => ({ x: Math.round(a * x), y: Math.round(b * y) }))
    found = true
    form()
  } catch (e) { fill($("gaugenews"), oops(e)); fill($("gauge")) }
}

const isSheet = () => $("gaugesheet")?.checked ?? false
let img, lines, glass

function form() {
  img = el("img", { src: `/api/gauge/${shown.picture}/photo.jpg`, alt: w("gauge.photo"), width: shown.width, height: shown.height, draggable: "false" })
  lines = svg("svg", { viewBox: `0 0 ${shown.width} ${shown.height}`, "aria-hidden": "true" })
  glass = el("canvas", { class: "gaugeglass", width: 132, height: 132, "aria-hidden": "true", hidden: true })
  const radio = (id, words, is) => el("label", {}, el("input", { type: "radio", name: "gaugewhat", id, checked: is, onchange: kind }), el("span", {}, words))
  fill($("gauge"), el("div", { class: "gaugeside" },
    el("div", {}, el("div", { class: "cropper on", id: "gaugephoto" }, img, lines, corners.map((_, i) => corner(i)), glass), el("p", { class: "quiet small", id: "gaugehow" })),
    el("div", { class: "tot" },
      el("fieldset", { class: "picks" }, el("legend", { class: "vh" }, w("gauge.what")), radio("gaugecard", w("gauge.card"), true), radio("gaugesheet", w("gauge.sheet"), false)),
      el("div", { class: "field" }, el("label", { for: "gaugecodes" }, el("b", { id: "gaugelabel" })), el("textarea", { id: "gaugecodes", rows: "6", spellcheck: "false", "aria-describedby": "gaugewhy" }), el("span", { class: "why", id: "gaugewhy" })),
      el("p", { class: "row" }, el("button", { class: "btn first", id: "gaugego", onclick: measure }, w("gauge.go")), el("button", { class: "btn", id: "gaugeprint", onclick: print }, w("gauge.print"))),
      el("p", { class: "quiet small" }, w("gauge.care")))),
  el("div", { id: "gaugeread", role: "status" }))
  kind()
  draw()
}

function kind() {
  const s = isSheet()
  $("gaugelabel").textContent = w(s ? "gauge.codes.sheet" : "gauge.codes.card")
  $("gaugewhy").textContent = w(s ? "gauge.why.sheet" : "gauge.why.card")
  $("gaugehow").textContent = w(s ? "gauge.how.sheet" : "gauge.how.card")
  $("gaugeprint").hidden = !s
}

// corner is a grip: dragged, or moved by arrow keys.
function corner(i) {
  const name = ["gauge.c0", "gauge.c1", "gauge.c2", "gauge.c3"][i]
  const says = () => w("gauge.at", w(name), n(corners[i].x), n(corners[i].y))
  const b = el("button", { class: "grip", type: "button", id: "corner" + i, "aria-label": says() })
  const to = (x, y) => {
    corners[i] = { x: Math.round(Math.max(0, Math.min(shown.width - 1, x))), y: Math.round(Math.max(0, Math.min(shown.height - 1, y))) }
    found = false
    b.setAttribute("aria-label", says())
    draw(i)
  }
  let held
  b.addEventListener("pointerdown", e => {
    const r = img.getBoundingClientRect(), k = shown.width / r.width
    held = { x: corners[i].x - e.clientX * k, y: corners[i].y - e.clientY * k, k }
    b.setPointerCapture(e.pointerId)
    draw(i)
  })
  b.addEventListener("pointermove", e => { if (held) to(held.x + e.clientX * held.k, held.y + e.clientY * held.k) })
  for (const k of ["pointerup", "pointercancel", "blur"]) b.addEventListener(k, () => { held = null; glass.hidden = true })
  b.addEventListener("keydown", e => {
    const step = e.shiftKey ? 20 : Math.max(1, Math.round(shown.width / 1600))
    const by = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] }[e.key]
    if (!by) return
    e.preventDefault()
    to(corners[i].x + by[0] * step, corners[i].y + by[1] * step)
  })
  return b
}

// draw shows the corners, and the one that moves through a glass.
function draw(moved) {
  const d = "M" + corners.map(c => `${c.x} ${c.y}`).join("L") + "Z"
  fill(lines, svg("path", { class: "under1", d }), svg("path", { class: "shape is", d }))
  corners.forEach((c, i) => {
    const s = $("corner" + i).style
    s.setProperty("left", 100 * c.x / shown.width + "%")
    s.setProperty("top", 100 * c.y / shown.height + "%")
  })
  if (moved === undefined || !img.naturalWidth) return
  const c = corners[moved], k = img.naturalWidth / shown.width, g = glass.getContext("2d"), r = 22
  glass.hidden = false
  glass.classList.toggle("right", c.x < shown.width / 2)
  g.fillStyle = "#888"
  g.fillRect(0, 0, 132, 132)
  g.imageSmoothingEnabled = false
  g.drawImage(img, c.x * k - r, c.y * k - r, 2 * r, 2 * r, 0, 0, 132, 132)
  g.fillStyle = "#fff"; g.fillRect(65, 0, 3, 132); g.fillRect(0, 65, 132, 3)
  g.fillStyle = "#000"; g.fillRect(66, 0, 1, 132); g.fillRect(0, 66, 132, 1)
}

async function measure() {
  const out = $("gaugeread")
  fill(out, el("p", { class: "quiet" }, w("gauge.going")))
  try {
    const r = await post("/api/gauge/" + shown.picture, { sheet: isSheet(), codes: $("gaugecodes").value, corners: isSheet() && found ? null : corners.map(c => ({ X: c.x, Y: c.y })) })
    corners = r.corners.map(c => ({ x: Math.round(c.X), y: Math.round(c.Y) }))
    draw()
    const name = el("input", { type: "text", id: "gaugename", value: shown.name, autocomplete: "off", spellcheck: "false" })
    fill(out,
      el("h3", {}, w("gauge.read", n(r.colors.length))),
      el("p", {}, w("gauge.ends", r.first, r.last)),
      el("p", {}, w("gauge.sure", r.good, r.fair, r.poor), " ", r.expect),
      r.warnings.map(t => el("p", { class: "advice" }, t)),
      el("details", {}, el("summary", {}, w("gauge.seen")), el("img", { src: `/api/gauge/${shown.picture}/seen.png?${Date.now()}`, alt: w("gauge.seenalt") })),
      el("ul", { class: "measured" }, r.colors.map(c => el("li", {}, chip(c), el("span", {}, el("b", {}, c.address), el("br"), el("span", { class: "quiet small" }, w("gauge." + c.sure), c.why ? ". " + c.why : ""))))),
      el("form", { class: "field", onsubmit: e => { e.preventDefault(); keep(name.value) } }, el("label", { for: "gaugename" }, w("gauge.name")), name, el("p", {}, el("button", { class: "btn first", id: "gaugekeep" }, w("gauge.keep")))),
      el("div", { id: "gaugekept", role: "status" }))
  } catch (e) { fill(out, oops(e)) }
}

async function keep(name) {
  try {
    const c = await post(`/api/gauge/${shown.picture}/keep`, { name: name.trim() })
    fill($("gaugekept"), el("p", { class: "toast" }, w("gauge.kept", c.card, n(c.colors))), el("p", {}, el("button", { class: "btn first", onclick: () => use(c.card) }, w("card.use", c.card))))
  } catch (e) { fill($("gaugekept"), oops(e)) }
}

async function print() {
  try {
    const a = await call("GET", "/api/gauge/sheets.pdf?codes=" + encodeURIComponent($("gaugecodes").value), undefined, { raw: true })
    const url = URL.createObjectURL(await a.blob())
    el("a", { href: url, download: "frame.pdf" }).click()
    setTimeout(() => URL.revokeObjectURL(url), 10000)
  } catch (e) { fill($("gaugeread"), oops(e)) }
}
