// The photo with all that is drawn on it: the crop, the pet, the focus, the
// brush. Every box is in percent of the upright photo, as the command takes it.
import { $, el, fill, frame, get, kit, oops, svg, w } from "/assets/base.mjs"
import { asking, change, state, canvas } from "/assets/work.mjs"

let at = "crop" // the shape in hand: crop, subject, focus 0 ..., add, cut
let shapes = {} // as drawn now
let W = 1, H = 1
let drawing, img, busy
let brush = 3 // percent of the photo's width
let contour = ""

const boxes = text => (text || "").split(";").filter(Boolean).map(p => p.split(",").map(Number))
const text = b => b.map(v => +v.toFixed(2)).join(",")
const clamp = (v, lo, hi) => Math.max(lo, Math.min(hi, v))

function read() {
  const o = state.order
  shapes = {
    crop: canvas ? canvas.crop.slice() : o.crop ? boxes(o.crop)[0] : [0, 0, 100, 100],
    subject: o.subject && o.subject !== "none" ? boxes(o.subject)[0] : null,
    focus: boxes(o.focus), add: boxes(o.add), cut: boxes(o.cut),
  }
}

export function begin() {
  W = state.photo.width; H = state.photo.height
  img = el("img", { src: kit + "/photo.jpg?w=1600", alt: w("photo.alt", state.name), width: W, height: H, draggable: "false" })
  drawing = svg("svg", { viewBox: `0 0 ${W} ${H}`, "aria-hidden": "true" })
  const c = $("cropper")
  c.append(img, drawing)
  c.addEventListener("pointerdown", down)
  c.addEventListener("pointermove", move)
  for (const kind of ["pointerup", "pointercancel"]) c.addEventListener(kind, up)
  c.addEventListener("keydown", keys)
  c.addEventListener("focus", speak)
}

export function show() {
  if (held || asking()) return // what is drawn is newer than what the table has said
  read()
  if (at.startsWith("focus") && !box(at)) at = "crop"
  if (at === "subject" && !shapes.subject) at = "crop"
  draw()
  buttons()
  findOutline()
  const c = canvas
  if (!c) return
  fill($("advice"),
    [...c.advice.map(a => [a.says, a.try]), ...c.notes.map(s => [s]), ...c.outline.map(s => [s])].map(([a, b]) => el("p", { class: "advice" }, b ? el("b", {}, a) : a, b ? " " + b : "")),
    proposed() ? el("p", { class: "advice" }, w(c.first ? "photo.propose.told" : "photo.propose"), " ", el("span", { class: "row" }, el("button", { class: "btn", id: "propose", onclick: () => propose() }, w("photo.take")),
      tighter() ? el("button", { class: "btn", id: "proposecrop", onclick: () => change({ crop: text(c.first.crop) }) }, w("photo.takecrop")) : null)) : null,
    el("details", { ontoggle: e => e.target.open && light(e.target) }, el("summary", {}, w("photo.light")), el("div", {})))
}

// A first ellipse, where the photo's colors differ from those at its edges, or
// about the middle of the crop: only a proposal.
function proposal() {
  if (canvas?.first) return canvas.first.subject
  const [x, y, cw, ch] = shapes.crop
  return [x + cw * .1, y + ch * .06, cw * .8, ch * .88]
}
const proposed = () => state.order.subject === "" && !contour && !shapes.subject
const tighter = () => { const c = canvas?.first?.crop; return c && !state.order.crop && c[2] * c[3] < .85 * shapes.crop[2] * shapes.crop[3] }
const oval = b => ({ cx: (b[0] + b[2] / 2) * W / 100, cy: (b[1] + b[3] / 2) * H / 100, rx: b[2] / 2 * W / 100, ry: b[3] / 2 * H / 100 })
function propose() {
  at = "subject"
  change({ subject: text(proposal()) })
}

const box = name => name === "crop" || name === "subject" ? shapes[name] : shapes.focus[+name.split(" ")[1]]

// buttons stay as they are while nothing about them changes: one that is drawn
// anew under a finger is not pressed.
let drawnFor = ""
function buttons() {
  const is = JSON.stringify([at, shapes, contour !== "", state.order.crop, state.order.subject])
  if (is === drawnFor) return
  drawnFor = is
  const pick = (name, words) => el("button", { class: "btn", "aria-pressed": String(at === name), onclick: () => { at = at === name && name !== "crop" ? "crop" : name; draw(); buttons(); speak(); $("cropper").focus() } }, words)
  const b = box(at)
  const slider = (i, words, max = 100) => {
    const id = "slide" + i
    return [el("label", { for: id }, words), el("input", { type: "range", id, min: "0", max: String(max), step: "0.5", value: String(b[i]), oninput: e => { set(i, +e.target.value); draw(); outlineSoon() }, onchange: save })]
  }
  fill($("shapes"),
    el("p", { class: "row" }, pick("crop", w("photo.crop")),
      shapes.subject ? pick("subject", w("photo.pet")) : proposed() ? null : el("button", { class: "btn", onclick: propose }, w("photo.drawpet")),
      shapes.focus.map((_, i) => pick("focus " + i, w("photo.focus", i + 1))),
      el("button", { class: "btn", onclick: addFocus }, w("photo.addfocus"))),
    contour || shapes.subject ? el("p", { class: "row" }, pick("add", w("photo.add")), pick("cut", w("photo.cut")),
      shapes.add.length + shapes.cut.length ? el("button", { class: "btn", onclick: () => change({ add: "", cut: "" }) }, w("photo.nobrush")) : null) : null,
    at === "add" || at === "cut" ? el("label", { class: "range" }, el("span", {}, w("photo.brush")), el("input", { type: "range", min: "1", max: "12", step: "0.5", value: String(brush), oninput: e => { brush = +e.target.value } }), el("span", {})) : null,
    b ? el("details", {}, el("summary", {}, w("photo.slide", nameOf(at))),
      el("div", { class: "slid" }, slider(0, w("photo.left")), slider(1, w("photo.topp")), slider(2, w("photo.width")), at === "crop" ? null : slider(3, w("photo.height")))) : null,
    at !== "crop" && b ? el("p", { class: "row" }, el("button", { class: "btn", onclick: remove }, w("photo.remove", nameOf(at)))) : null,
    at === "crop" && state.order.crop ? el("p", { class: "row" }, el("button", { class: "btn", onclick: () => change({ crop: "" }) }, w("photo.nocrop"))) : null)
}

const nameOf = name => name === "crop" ? w("photo.crop") : name === "subject" ? w("photo.pet") : w("photo.focus", +name.split(" ")[1] + 1)

function addFocus() {
  const [x, y, cw, ch] = shapes.crop
  const side = cw * .22
  shapes.focus.push([x + cw / 2 - side / 2, y + ch / 2 - side * W / H / 2, side, side * W / H].map(v => +v.toFixed(2)))
  at = "focus " + (shapes.focus.length - 1)
  save()
  $("cropper").focus()
}

function remove() {
  if (at === "subject") { shapes.subject = null; at = "crop"; return change({ subject: "", add: "", cut: "" }) }
  if (at.startsWith("focus")) { shapes.focus.splice(+at.split(" ")[1], 1); at = "crop"; save("focus") }
}

// set changes one number of the shape in hand, within the photo.
function set(i, v) {
  const b = box(at)
  if (at === "crop" && i >= 2) {
    const mid = [b[0] + b[2] / 2, b[1] + b[3] / 2]
    sized(b, mid, v / b[2])
    return
  }
  b[i] = i >= 2 ? clamp(v, 1, 100 - b[i - 2]) : clamp(v, 0, 100 - b[i + 2])
}

// sized grows a box about a point; a crop keeps its proportions.
function sized(b, mid, by) {
  const most = Math.min(by, 100 / b[2], 100 / b[3])
  const f = Math.max(most, 3 / Math.min(b[2], b[3]))
  b[2] *= f; b[3] *= f
  b[0] = clamp(mid[0] - b[2] / 2, 0, Math.max(0, 100 - b[2]))
  b[1] = clamp(mid[1] - b[3] / 2, 0, Math.max(0, 100 - b[3]))
}

function save(which) {
  const name = typeof which === "string" ? which : at.split(" ")[0]
  if (name === "crop") return change({ crop: text(shapes.crop) })
  if (name === "subject") return change({ subject: text(shapes.subject) })
  if (name === "focus") return change({ focus: shapes.focus.map(text).join(";") })
  return change({ [name]: shapes[name].map(text).join(";") })
}

function keys(e) {
  const b = box(at)
  if (!b || e.ctrlKey || e.metaKey) return
  const step = (e.shiftKey ? 10 : 1) * (at === "crop" ? b[2] / 100 : 1)
  const arrow = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] }[e.key]
  if (arrow && e.altKey && at !== "crop") {
    set(2, b[2] + arrow[0] * step); set(3, b[3] - arrow[1] * step)
  } else if (arrow) {
    b[0] = clamp(b[0] + arrow[0] * step, 0, 100 - b[2]); b[1] = clamp(b[1] + arrow[1] * step, 0, 100 - b[3])
  } else if ("+=".includes(e.key)) sized(b, [b[0] + b[2] / 2, b[1] + b[3] / 2], 1.05)
  else if (e.key === "-") sized(b, [b[0] + b[2] / 2, b[1] + b[3] / 2], 1 / 1.05)
  else if (e.key === "Delete" || e.key === "Backspace") { if (at !== "crop") remove(); return e.preventDefault() }
  else if (e.key === "r" || e.key === "R") { return turn() }
  else return
  e.preventDefault()
  draw()
  speak()
  outlineSoon()
  clearTimeout(busy)
  busy = setTimeout(save, 500)
}

function turn() {
  const m = /^([\d.]+)x([\d.]+)(\w+)$/.exec(state.order.size)
  if (m) change({ size: `${m[2]}x${m[1]}${m[3]}`, turn: "asked", crop: "" })
}

function speak() {
  const b = box(at)
  $("photosaid").textContent = at === "add" || at === "cut" ? w("photo." + at + "says")
    : b ? w("photo.says", nameOf(at), ...b.map(v => Math.round(v))) : ""
}

// Pointers: the shape under the finger is taken; handles are 44 pixels wide.
let held
function place(e) {
  const r = drawing.getBoundingClientRect()
  return [100 * (e.clientX - r.left) / r.width, 100 * (e.clientY - r.top) / r.height, r.width / 100, r.height / 100]
}
const handles = (name, b) => name === "crop" ? [[0, 0], [1, 0], [0, 1], [1, 1]] : [[.5, 0], [0, .5], [1, .5], [.5, 1]]

function down(e) {
  if (e.button > 0 || held) return
  const [x, y, px, py] = place(e)
  const near = (bx, by) => Math.hypot((bx - x) * px, (by - y) * py) <= 22
  if (at === "add" || at === "cut") held = { brush: at, last: null }
  else {
    const b = box(at)
    const grip = b && handles(at, b).find(([hx, hy]) => near(b[0] + hx * b[2], b[1] + hy * b[3]))
    if (grip) held = { grip, b, was: b.slice() }
    else {
      const inside = name => {
        const b = box(name)
        if (!b) return false
        const dx = (x - b[0] - b[2] / 2) / b[2] * 2, dy = (y - b[1] - b[3] / 2) / b[3] * 2
        return dx * dx + dy * dy <= 1
      }
      const names = [...shapes.focus.map((_, i) => "focus " + i), "subject"]
      const on = inside(at) && at !== "crop" ? at : names.find(name => name !== "subject" ? inside(name) : at === "subject" && inside(name)) ?? "crop"
      if (on !== at) { at = on; buttons() }
      const c = box(at)
      if (at === "crop" && e.pointerType === "touch" && document.activeElement !== $("cropper")) { // the first touch only takes it: the page still scrolls
        $("cropper").focus()
        $("cropper").classList.add("on")
      }
      held = { move: [x - c[0], y - c[1]], b: c, was: c.slice() }
    }
  }
  $("cropper").setPointerCapture(e.pointerId)
  e.preventDefault()
  $("cropper").focus({ preventScroll: true })
  move(e)
}

function move(e) {
  if (!held) return
  const [x, y, px, py] = place(e)
  const b = held.b
  if (held.brush) {
    const r = brush, ry = brush * W / H
    for (const p of e.getCoalescedEvents?.().length ? e.getCoalescedEvents() : [e]) {
      const [bx, by] = place(p)
      if (held.last && Math.hypot((bx - held.last[0]) * px, (by - held.last[1]) * py) < r * px * .8) continue
      held.last = [bx, by]
      const [l, t] = [clamp(bx - r, 0, 100), clamp(by - ry, 0, 100)]
      const [rr, bb] = [clamp(bx + r, 0, 100), clamp(by + ry, 0, 100)]
      if (rr - l > .2 && bb - t > .2) shapes[held.brush].push([l, t, rr - l, bb - t])
    }
  } else if (held.move) {
    b[0] = clamp(x - held.move[0], 0, 100 - b[2]); b[1] = clamp(y - held.move[1], 0, 100 - b[3])
  } else if (at === "crop") {
    const [gx, gy] = held.grip, was = held.was
    const fixed = [was[0] + (1 - gx) * was[2], was[1] + (1 - gy) * was[3]]
    let f = Math.max(Math.abs(x - fixed[0]) / was[2], Math.abs(y - fixed[1]) / was[3])
    f = Math.min(f, (gx ? 100 - fixed[0] : fixed[0]) / was[2], (gy ? 100 - fixed[1] : fixed[1]) / was[3])
    f = Math.max(f, 3 / Math.min(was[2], was[3]))
    b[2] = was[2] * f; b[3] = was[3] * f
    b[0] = gx ? fixed[0] : fixed[0] - b[2]; b[1] = gy ? fixed[1] : fixed[1] - b[3]
  } else {
    const [gx, gy] = held.grip
    if (gx !== .5) { const far = gx ? b[0] : b[0] + b[2]; const v = clamp(x, 0, 100); b[0] = Math.min(far, v); b[2] = Math.max(1, Math.abs(v - far)) }
    if (gy !== .5) { const far = gy ? b[1] : b[1] + b[3]; const v = clamp(y, 0, 100); b[1] = Math.min(far, v); b[3] = Math.max(1, Math.abs(v - far)) }
  }
  draw()
  speak()
  outlineSoon()
}

function up(e) {
  if (!held) return
  const h = held
  held = null
  if (e.type === "pointercancel") return show() // as if it had not been
  if (h.brush || h.was.some((v, i) => Math.abs(v - h.b[i]) > .05)) save(h.brush)
}

// The outline that is found by what is drawn, while it is drawn: one question
// at a time, the newest next.
let sought, next
const outlineSoon = frame(() => findOutline())
async function findOutline() {
  if (!state || state.order.subject === "none") { contour = ""; return draw() }
  if (at === "crop" && held) return
  const q = new URLSearchParams({ subject: shapes.subject ? text(shapes.subject) : "", add: shapes.add.map(text).join(";"), cut: shapes.cut.map(text).join(";") }).toString()
  if (sought) { next = q !== sought; return }
  if (q === findOutline.last) return
  sought = q
  try {
    const m = await get(kit + "/outline?" + q)
    const had = contour !== ""
    contour = m.runs ? lineOf(m) : ""
    findOutline.last = q
    draw()
    if (had !== (contour !== "") && !held) buttons()
  } catch { /* said by the canvas once the finger is off */ findOutline.last = q }
  sought = null
  if (next) { next = false; findOutline() }
}

// lineOf is the edge of a mask as a path in the photo's pixels.
function lineOf(m) {
  const bits = new Uint8Array(m.cols * m.rows)
  let i = 0, v = 0
  for (const run of m.runs) { bits.fill(v, i, i + run); i += run; v = 1 - v }
  const kx = W / m.cols, ky = H / m.rows
  let d = ""
  const is = (x, y) => x >= 0 && y >= 0 && x < m.cols && y < m.rows && bits[y * m.cols + x] === 1
  for (let y = 0; y <= m.rows; y++) for (let x = 0; x < m.cols; x++) if (is(x, y) !== is(x, y - 1)) {
    let end = x
    while (end < m.cols && is(end, y) !== is(end, y - 1) ) end++
    d += `M${(x * kx).toFixed(1)} ${(y * ky).toFixed(1)}H${(end * kx).toFixed(1)}`
    x = end
  }
  for (let x = 0; x <= m.cols; x++) for (let y = 0; y < m.rows; y++) if (is(x, y) !== is(x - 1, y)) {
    let end = y
    while (end < m.rows && is(x, end) !== is(x - 1, end)) end++
    d += `M${(x * kx).toFixed(1)} ${(y * ky).toFixed(1)}V${(end * ky).toFixed(1)}`
    y = end
  }
  return d
}

const draw = frame(() => {
  const px = v => v * W / 100, py = v => v * H / 100
  const r = drawing.getBoundingClientRect(), unit = W / Math.max(1, r.width)
  const [x, y, cw, ch] = shapes.crop
  const ellipse = (b, name, is) => ["under1", "shape" + (name === "subject" ? " dash" : "") + (is ? " is" : "")].map(c =>
    svg("ellipse", { class: c, cx: px(b[0] + b[2] / 2), cy: py(b[1] + b[3] / 2), rx: px(b[2] / 2), ry: py(b[3] / 2) }))
  const b = box(at)
  fill(drawing,
    svg("path", { class: "veil", "fill-rule": "evenodd", d: `M0 0H${W}V${H}H0ZM${px(x)} ${py(y)}h${px(cw)}v${py(ch)}h${-px(cw)}Z` }),
    contour ? [svg("path", { class: "contour0", d: contour }), svg("path", { class: "contour", d: contour })] : null,
    held?.brush ? shapes[held.brush].map(b => svg("ellipse", { class: "dab", cx: px(b[0] + b[2] / 2), cy: py(b[1] + b[3] / 2), rx: px(b[2] / 2), ry: py(b[3] / 2) })) : null,
    ["under1", "shape" + (at === "crop" ? " is" : "")].map(c => svg("rect", { class: c, x: px(x), y: py(y), width: px(cw), height: py(ch) })),
    shapes.subject ? ellipse(shapes.subject, "subject", at === "subject") : proposed() ? [svg("ellipse", { class: "under1 faint", ...oval(proposal()) }), svg("ellipse", { class: "shape dash faint", ...oval(proposal()) })] : null,
    shapes.focus.map((f, i) => ellipse(f, "focus", at === "focus " + i)),
    b ? handles(at, b).map(([hx, hy]) => svg("circle", { class: "hold", cx: px(b[0] + hx * b[2]), cy: py(b[1] + hy * b[3]), r: 8 * unit })) : null)
})

// light shows the photo as drills would like it, before and after.
async function light(details) {
  const where = details.lastElementChild
  try {
    const a = new Uint8Array(await (await get(kit + "/light", { raw: true })).arrayBuffer())
    const [, , pw, ph] = canvas.picture
    const one = (k, words) => {
      const c = el("canvas", { width: pw, height: ph, class: "fin", role: "img", "aria-label": w(words) }), g = c.getContext("2d"), im = g.createImageData(pw, ph)
      for (let i = 0, j = k * pw * ph * 3; i < pw * ph * 4; i += 4, j += 3) im.data.set([a[j], a[j + 1], a[j + 2], 255], i)
      g.putImageData(im, 0, 0)
      return el("figure", {}, c, el("figcaption", { class: "quiet small" }, w(words)))
    }
    fill(where, el("div", { class: "row" }, one(0, "photo.before"), one(1, "photo.after")),
      el("label", { class: "row" }, el("input", { type: "checkbox", checked: state.order.tone === "auto", onchange: e => change({ tone: e.target.checked ? "auto" : "none" }) }), w("setting.tone")))
  } catch (e) { fill(where, oops(e)) }
}
