// Placing: one section at a time, the container in hand, the next and the one
// after. Each run of the lit color is one outlined bar with its length, so that
// a multi-placer is chosen at a glance.
import { $, boot, bytes, chip, el, few, fill, frame, get, kit, n, on, oops, pageID, post, saving, svg, w } from "/assets/base.mjs"

const api = boot.share ? "" : kit
let all, here, cells, at = -1, lit = -1
let drawn // a drill and the ruler on the board, in its pixels
let turned = 0, hand = localStorage.getItem("hand") || "right"
let sitting = 0, awake, clock = 0, touched = 0

export async function begin() {
  build()
  try { await load() } catch (e) {
    fill($("placing"), oops(e), el("p", {}, el("a", { class: "btn first", href: "/kit/" + boot.kit }, w("nav.work"))))
    on("kit", () => location.reload())
    return
  }
  saving("saved")
  if (!boot.share) sharing(await get(kit + "/share"))
  on("placed", e => { if (e.kit === boot.kit && e.page !== pageID()) load() })
  on("again", load)
  on("edited", e => { if (e.kit === boot.kit) load() })
  addEventListener("keydown", keys)
  for (const kind of ["pointerdown", "keydown"]) addEventListener(kind, () => { touched = Date.now() })
  document.addEventListener("visibilitychange", () => { if (awake && document.visibilityState === "visible") stayAwake() })
  setInterval(() => { if (document.visibilityState === "visible" && Date.now() - touched < 120000) clock += 5 }, 5000)
  addEventListener("resize", draw)
}

function build() {
  fill($("placing"), el("div", { class: "place " + hand },
    el("div", { class: "pt" }, el("div", { class: "where" }, el("div", { id: "map" }), el("div", {}, el("p", {}, el("b", { id: "sec" })), el("p", { class: "quiet small", id: "seclef" }))),
      el("label", {}, el("span", { class: "vh" }, w("placing.choose")), el("select", { id: "pick", onchange: e => go(+e.target.value) })),
      el("dl", { class: "sum", id: "numbers" }),
      el("p", { class: "row" }, el("button", { class: "btn", id: "turn", onclick: () => { turned = (turned + 1) % 4; draw() } }, w("placing.turn")),
        el("button", { class: "btn", id: "awake", "aria-pressed": "false", onclick: stayAwake }, w("placing.awake")),
        el("button", { class: "btn", onclick: () => { hand = hand === "right" ? "left" : "right"; localStorage.setItem("hand", hand); document.querySelector(".place").className = "place " + hand } }, w("placing.hand")))),
    el("div", { class: "table" },
      el("div", { class: "board" }, el("canvas", { id: "sheet", role: "img", "aria-label": w("placing.board"), onclick: tap })),
      el("div", { class: "boxes" }, el("div", { class: "hand" }, el("div", { id: "now" }), el("div", { class: "go" }, el("button", { class: "btn first wide", id: "set", onclick: set }, w("placing.set")), el("button", { class: "btn wide", id: "run", onclick: () => setRun(nextRun()) }, w("placing.run")), el("button", { class: "btn wide", id: "back", onclick: undo }, w("changes.undo")))),
        el("div", { id: "placingnews", role: "status" }), el("div", { id: "then" }), el("h2", {}, w("placing.all")), el("div", { id: "allhere", class: "containers" }), el("div", { id: "share" })))))
}

async function load() {
  all = await get(api + "/placing")
  fill($("pick"), all.sections.map((s, i) => [i, s]).sort((a, b) => a[1].step - b[1].step).map(([i, s]) => el("option", { value: String(i) }, w("placing.option", s.step, s.name, s.left ? few("count.drills", s.left) : w("placing.done")))))
  if (at < 0 || at >= all.sections.length) at = all.next[0] ?? all.order[0]
  await go(at)
}

// refresh looks whether another page ticked something off.
export async function refresh() {
  const now = await get(api + "/placing", { once: true }).catch(() => null)
  if (now && (now.set !== all.set || now.mark !== all.mark)) await load()
}

async function go(i) {
  at = i
  here = await get(api + "/placing/" + i)
  if (!cells || cells.mark !== all.mark) { cells = await bytes(api + "/cells"); cells.mark = all.mark }
  if (!here.tasks.some(t => t.color === lit)) lit = here.tasks[0]?.color ?? -1
  $("pick").value = String(i)
  show()
}

const label = c => { const l = here.legend[c]; return l }
function show() {
  const s = all.sections[at]
  $("sec").textContent = w("placing.section", s.name, s.step, all.sections.length)
  $("seclef").textContent = s.left ? few("count.left", s.left) : w("placing.done")
  fill($("numbers"), [[n(all.left), w("placing.left")], [n(sitting), w("placing.sitting")], [all.hours, w(all.own ? "placing.ownhours" : "placing.hours")]].map(([v, k]) => el("div", {}, el("dt", {}, k), el("dd", {}, v))))
  const order = [...here.tasks].sort((a, b) => (a.color === lit ? -1 : 0) - (b.color === lit ? -1 : 0))
  const box = (t, key) => {
    const l = label(t.color)
    return el("button", { class: "container " + key, onclick: () => { lit = t.color; show() }, },
      el("span", { class: "quiet small" }, w("placing." + key)), chip(l), el("b", {}, l.address), el("span", {}, w("placing.number", l.number, l.symbol)), el("span", { class: "num" }, few("count.drills", t.left)))
  }
  fill($("now"), order[0] ? box(order[0], "now") : el("div", { class: "toast" }, all.left ? [w("placing.sectiondone", s.name), " ", all.next.length ? el("button", { class: "btn first", id: "nextsec", onclick: () => go(all.next[0]) }, w("placing.nextsection", all.sections[all.next[0]].name)) : null] : w("placing.alldone")))
  fill($("then"), order[1] ? box(order[1], "next") : null, order[2] ? box(order[2], "then") : null)
  fill($("allhere"), here.all.map(t => el("button", { class: "bag", "aria-pressed": String(t.color === lit), disabled: !t.left, onclick: () => { lit = t.color; show() } }, chip(label(t.color)), el("span", {}, el("b", {}, label(t.color).address), " ", el("span", { class: "quiet" }, t.left ? few("count.drills", t.left) : w("placing.isset"))))))
  $("set").disabled = lit < 0 || !order.length
  $("run").disabled = !nextRun()
  $("back").disabled = !all.undo
  map()
  draw()
}

function map() {
  fill($("map"), svg("svg", { viewBox: `0 0 ${all.cols} ${all.rows}`, class: "mini", role: "img", "aria-label": w("placing.map", all.sections[at].name) },
    all.sections.map((s, i) => svg("rect", { x: s.box[0], y: s.box[1], width: s.box[2], height: s.box[3], class: i === at ? "m2" : s.left === 0 ? "m1" : "m0" }))))
}

const draw = frame(() => {
  if (!here) return
  const c = $("sheet"), place = c.parentElement, ratio = Math.min(2, devicePixelRatio)
  const [bx, by, bw, bh] = here.box
  const odd = turned % 2
  const across = odd ? bh : bw, down = odd ? bw : bh
  const ruler = 1.6
  const s = Math.max(6, Math.floor(Math.min(place.clientWidth * ratio / (across + ruler), Math.max(320, Math.min(innerHeight * .72, place.clientWidth)) * ratio / (down + ruler))))
  const off = Math.round(ruler * s)
  drawn = { s, off }
  c.width = across * s + off + 2; c.height = down * s + off + 2
  c.style.setProperty("width", c.width / ratio + "px")
  c.style.setProperty("height", c.height / ratio + "px")
  const g = c.getContext("2d")
  g.fillStyle = "#8a8a8a"
  g.fillRect(0, 0, c.width, c.height)
  const to = (x, y) => turned === 1 ? [bh - 1 - y, x] : turned === 2 ? [bw - 1 - x, bh - 1 - y] : turned === 3 ? [y, bw - 1 - x] : [x, y]
  const cx = x => off + x * s, cy = y => off + y * s
  const light = lit >= 0 && here.legend[lit].l > 60
  for (let y = 0; y < bh; y++) for (let x = 0; x < bw; x++) {
    const k = cells[(by + y) * all.cols + bx + x], l = here.legend[k], [px, py] = to(x, y), is = k === lit, done = here.set[y * bw + x]
    g.fillStyle = is && !done ? l.hex : light ? "#4a4a4a" : "#e0e0de"
    g.fillRect(cx(px), cy(py), s, s)
    if (done) { g.fillStyle = l.hex; g.globalAlpha = .45; g.fillRect(cx(px), cy(py), s, s); g.globalAlpha = 1; continue }
    l.shape ??= new Path2D(l.path)
    g.save()
    g.translate(cx(px) + s / 2, cy(py) + s / 2)
    g.scale(s * .0036, s * .0036)
    g.rotate(turned * Math.PI / 2)
    g.fillStyle = is ? (l.white ? "#fff" : "#000") : light ? "#8f8f8f" : "#9b9b99"
    g.fill(l.shape, "evenodd")
    g.restore()
  }
  g.strokeStyle = "#0003"
  g.lineWidth = 1
  for (let x = 0; x <= across; x++) line(g, cx(x), off, cx(x), cy(down))
  for (let y = 0; y <= down; y++) line(g, off, cy(y), cx(across), cy(y))
  bars(g, s, to, cx, cy)
  rulers(g, s, off, across, down, bx, by, bw, bh)
})
// Runs can be ticked one by one: by a tap on one, or from the top. A tap on
// one that is set takes it back.
const isSet = r => { const [bx, by, bw] = here.box; return Boolean(here.set[(r[2] - by) * bw + r[1] - bx]) }
const nextRun = () => here.runs.find(r => r[0] === lit && !isSet(r))
function tap(e) {
  const r = e.target.getBoundingClientRect(), ratio = Math.min(2, devicePixelRatio), [bx, by, bw, bh] = here.box
  const px = Math.floor(((e.clientX - r.left) * ratio - drawn.off) / drawn.s), py = Math.floor(((e.clientY - r.top) * ratio - drawn.off) / drawn.s)
  const [x, y] = turned === 1 ? [py, bh - 1 - px] : turned === 2 ? [bw - 1 - px, bh - 1 - py] : turned === 3 ? [bw - 1 - py, px] : [px, py]
  if (x < 0 || y < 0 || x >= bw || y >= bh) return
  const run = here.runs.find(([, rx, ry, len, down]) => x + bx >= rx && x + bx < rx + (down ? 1 : len) && y + by >= ry && y + by < ry + (down ? len : 1))
  if (run && run[0] !== lit && !isSet(run)) { lit = run[0]; return show() } // first its color, then the run
  setRun(run)
}
function setRun(run) {
  if (!run) return
  const [color, x, y, len] = run, open = isSet(run)
  tick({ act: open ? "open" : "done", run: [x, y] }, () => {
    sitting = Math.max(0, sitting + (open ? -len : len))
    return w(open ? "placing.runback" : "placing.runset", few("count.drills", len), here.legend[color].address, y + 1, x + 1)
  })
}
const line = (g, a, b, c, d) => { g.beginPath(); g.moveTo(a + .5, b + .5); g.lineTo(c + .5, d + .5); g.stroke() }

// bars outline the runs of the lit color, each with its length.
function bars(g, s, to, cx, cy) {
  const [bx, by, bw] = here.box
  for (const [color, x, y, len, down] of here.runs) {
    if (color !== lit || here.set[(y - by) * bw + x - bx]) continue
    const a = to(x - bx, y - by), b = to(x - bx + (down ? 0 : len - 1), y - by + (down ? len - 1 : 0))
    const l = Math.min(a[0], b[0]), t = Math.min(a[1], b[1]), wd = Math.abs(a[0] - b[0]) + 1, ht = Math.abs(a[1] - b[1]) + 1
    g.lineWidth = Math.max(3, s / 7)
    g.strokeStyle = "#000"
    g.strokeRect(cx(l), cy(t), wd * s, ht * s)
    g.lineWidth = Math.max(1.5, s / 14)
    g.strokeStyle = "#fff"
    g.strokeRect(cx(l), cy(t), wd * s, ht * s)
    if (len < 3 || s < 12) continue
    const X = cx(l + wd / 2), Y = cy(t + ht / 2), r = s * .42
    g.fillStyle = "#fff"
    g.beginPath(); g.arc(X, Y, r, 0, 7); g.fill()
    g.fillStyle = "#000"
    g.font = `600 ${Math.round(r * 1.2)}px system-ui`
    g.textAlign = "center"; g.textBaseline = "middle"
    g.fillText(String(len), X, Y + 1)
  }
}

// rulers number rows and columns as the canvas does, from 1.
function rulers(g, s, off, across, down, bx, by, bw, bh) {
  g.fillStyle = "#fff"
  g.font = `${Math.max(10, Math.round(s * .42))}px system-ui`
  g.textAlign = "center"; g.textBaseline = "middle"
  const col = i => turned === 1 ? by + bh - i : turned === 2 ? bx + bw - i : turned === 3 ? by + i + 1 : bx + i + 1
  const row = i => turned === 1 ? bx + i + 1 : turned === 2 ? by + bh - i : turned === 3 ? bx + bw - i : by + i + 1
  const each = s < 20 ? 5 : 1
  for (let i = 0; i < across; i++) if (col(i) % each === 0) g.fillText(String(col(i)), off + (i + .5) * s, off / 2)
  for (let i = 0; i < down; i++) if (row(i) % each === 0) g.fillText(String(row(i)), off / 2, off + (i + .5) * s)
}

// tick tells the table, and then what was done. A finger that comes twice is
// felt once.
let ticking = false
async function tick(body, after) {
  if (ticking) return
  ticking = true
  saving("saving")
  try {
    all = await post(api + "/tick", { section: at, mark: all.mark, ...body })
    saving("saved")
    const says = after()
    await go(at)
    fill($("placingnews"), el("p", { class: "toast" }, says))
  } catch (e) {
    saving("not", e)
    fill($("placingnews"), oops(e))
    if (e.code === "changed") await load()
  } finally { ticking = false }
}

function set() {
  const t = here.tasks.find(t => t.color === lit)
  if (!t) return
  const last = here.tasks.length === 1, minutes = last ? Math.round(clock / 60) : 0
  tick({ act: "done", colors: [lit], minutes }, () => {
    sitting += t.left
    if (last) clock = 0
    return w("placing.ticked", here.legend[t.color].address, few("count.drills", t.left))
  })
}
function undo() { const d = all.last?.drills ?? 0; tick({ act: "undo" }, () => { sitting = Math.max(0, sitting - d); return w("placing.undone") }) }

async function stayAwake() {
  const b = $("awake")
  if (!navigator.wakeLock) return fill($("placingnews"), el("p", { class: "toast" }, w("placing.noawake")))
  try {
    awake = await navigator.wakeLock.request("screen")
    b.setAttribute("aria-pressed", "true")
    b.textContent = w("placing.isawake")
    awake.addEventListener("release", () => { if (document.visibilityState === "visible") { b.setAttribute("aria-pressed", "false"); b.textContent = w("placing.awake") } })
  } catch { fill($("placingnews"), el("p", { class: "toast" }, w("placing.noawake"))) }
}

function keys(e) {
  if (e.target.matches("input, select, textarea") || e.ctrlKey || e.metaKey) return
  const i = here.tasks.findIndex(t => t.color === lit)
  if (e.key.toLowerCase() === "r") setRun(nextRun())
  else if (e.key === " " && !e.target.matches("button")) set()
  else if (e.key === "ArrowRight" || e.key === "ArrowDown") { lit = here.tasks[Math.min(here.tasks.length - 1, i + 1)]?.color ?? lit; show() }
  else if (e.key === "ArrowLeft" || e.key === "ArrowUp") { lit = here.tasks[Math.max(0, i - 1)]?.color ?? lit; show() }
  else if (e.key === "[" || e.key === "]") { const k = all.order.indexOf(at) + (e.key === "]" ? 1 : -1); if (all.order[k] !== undefined) go(all.order[k]) }
  else return
  e.preventDefault()
}

// sharing lets a tablet in, and says before it does what that exposes.
function sharing(s) {
  const act = path => async () => { try { sharing(await post(kit + path)) } catch (e) { fill($("placingnews"), oops(e)) } }
  fill($("share"), el("h2", {}, w("share.title")),
    !s.may ? el("p", { class: "quiet small" }, w("share.off"))
      : !s.address ? [el("p", { class: "small" }, w("share.warns")), el("p", {}, el("button", { class: "btn", id: "sharing", onclick: act("/share") }, w("share.start")))]
      : [el("p", { class: "small" }, w("share.scan")), svg("svg", { class: "qr", viewBox: `-4 -4 ${s.code.size + 8} ${s.code.size + 8}`, role: "img", "aria-label": w("share.code") }, svg("rect", { x: -4, y: -4, width: s.code.size + 8, height: s.code.size + 8, fill: "#fff" }), svg("path", { d: s.code.path, fill: "#000" })),
        el("p", { class: "small" }, el("code", { id: "shareaddress" }, s.address)), el("p", {}, el("button", { class: "btn", onclick: act("/unshare") }, w("share.stop")))])
}
