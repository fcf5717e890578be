// The finished look of the chosen rung, from near to far: as if one walked
// away from it, with the screen at arm's length.
import { $, boot, el, fill, frame, kit, n, oops, post, on, rgb, w, word32 } from "/assets/base.mjs"
import { canvas, change, state } from "/assets/work.mjs"
import * as ladder from "/assets/ladder.mjs"

const arm = .6 // meters from eye to screen (common practice, no source)
const pxPerMM = 96 / 25.4
let pic // the picture that is shown
let shown // which rung it is of
let spot, mm = [300, 400], words = ""
let wanted = ""

const meters = () => arm * Math.pow(4 / arm, $("far").value / 100)

export function begin() {
  $("far").addEventListener("input", draw)
  addEventListener("resize", draw)
  $("calm").addEventListener("change", e => change({ calm: String(e.target.value / 100) }))
  $("calm").addEventListener("input", e => calmSays(e.target.value / 100))
  $("open").addEventListener("click", open)
  on("kit", e => {
    if (e.kit !== boot.kit || !opening) return
    if (e.left.length) sessionStorage.setItem("left" + boot.kit, JSON.stringify(e.left))
    location.href = "/kit/" + boot.kit + "/chart"
  })
}

// again: the kit may have been made, or its job have ended, while nothing was
// heard.
export function again() {
  if (!begun || state.job === "kit") return
  if (state.kit && !state.kit.stale) location.href = "/kit/" + boot.kit + "/chart"
  else rested()
}

const calmSays = v => $("calm").setAttribute("aria-valuetext", w(v < .34 ? "calm.low" : v < .67 ? "calm.middle" : "calm.high"))

export function show() {
  if (document.activeElement !== $("calm")) { $("calm").value = Math.round(100 * state.order.calm); calmSays(+state.order.calm) }
  if (canvas) { mm = [canvas.width, canvas.height]; draw() }
}

// coarse shows the quick look on a small canvas, until there is a rung.
export function coarse(c) {
  if (shown) return
  const k = el("canvas", { width: c.cols, height: c.rows }), g = k.getContext("2d"), im = g.createImageData(c.cols, c.rows), to = new Uint32Array(im.data.buffer)
  const col = c.colors.map(h => word32(...rgb(h)))
  for (let i = 0; i < to.length; i++) to[i] = col[c.cells[i]]
  g.putImageData(im, 0, 0)
  pic = k
  words = w("look.coarse")
  $("looksays").textContent = words
  draw()
}

// rung shows another rung, as the table paints it.
export function rung(r, data, at) {
  spot = at
  const key = r.asked + "/" + r.seq + r.hex.join()
  const many = data.pick === r.asked ? "look.tip" : "look.colors"
  words = w(many, r.colors)
  $("looksays").replaceChildren(el("b", {}, words), " ", w("look.says", r.mean.toFixed(1), r.p95.toFixed(1)), " ", r.note || "")
  if (key === wanted) return draw()
  wanted = key
  const img = new Image()
  const px = Math.max(2, Math.min(8, Math.floor(1600 / Math.max(data.cols, data.rows))))
  img.onload = () => { if (wanted === key) { pic = img; shown = key; draw() } }
  img.src = `${kit}/look.png?rung=${r.asked}&px=${px}&v=${encodeURIComponent(key.slice(0, 40)) + hash(key)}`
}
const hash = s => { let h = 5381; for (const c of s) h = (h * 33 ^ c.charCodeAt(0)) >>> 0; return h }

const draw = frame(() => {
  const c = $("look"), far = meters()
  $("far").setAttribute("aria-valuetext", w("look.meters", far.toFixed(1)))
  if (!pic) return
  const ratio = Math.min(2, devicePixelRatio), W = Math.round(c.clientWidth * ratio), H = Math.round(c.clientHeight * ratio)
  if (c.width !== W || c.height !== H) { c.width = W; c.height = H }
  const g = c.getContext("2d")
  g.imageSmoothingQuality = "high"
  g.clearRect(0, 0, W, H)
  const pw = pic.naturalWidth || pic.width, ph = pic.naturalHeight || pic.height
  const k = mm[0] * pxPerMM * ratio * arm / far / pw // of the picture's pixels
  let x = (W - pw * k) / 2, y = (H - ph * k) / 2
  if (spot && (pw * k > W || ph * k > H)) { // too near for all of it: what is worth looking at
    const cx = (spot.x + spot.n / 2) / +spot.of.split("x")[0] * pw * k, cy = (spot.y + spot.n / 2) / +spot.of.split("x")[1] * ph * k
    if (pw * k > W) x = Math.min(0, Math.max(W - pw * k, W / 2 - cx))
    if (ph * k > H) y = Math.min(0, Math.max(H - ph * k, H / 2 - cy))
  }
  g.drawImage(pic, x, y, pw * k, ph * k)
  c.setAttribute("aria-label", w("look.alt", words, far.toFixed(1)))
})

let opening = false // the chart is to be opened once it is made
let begun = false // and the table has taken that on
function rested(...says) {
  opening = begun = false
  $("open").disabled = false
  fill($("opennews"), says)
}

async function open() {
  const colors = ladder.colors(), asked = ladder.asked()
  try {
    if (state.kit && !state.stale && state.kit.colors === colors && state.order.colors === String(asked)) { location.href = "/kit/" + boot.kit + "/chart"; return }
    if (!asked) { fill($("opennews"), w("look.wait")); return }
    opening = true
    $("open").disabled = true
    $("opennews").textContent = w("look.making")
    await post(kit + "/choose", { colors: String(asked), make: true })
    begun = opening
  } catch (e) { rested(oops(e)) }
}

// job tells how far the kit is.
export function job(e) {
  if (e.state === "failed") rested(oops(e.error))
  else if (e.state === "stopped") rested()
  else if (e.stage) $("opennews").textContent = w("look.making") + " " + e.stage + " …"
}
void n
