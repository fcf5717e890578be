// The chart on a canvas: up to 224,000 drills and more, zoomed and panned
// without tiles. Each color has a little picture in device pixels; a frame
// shifts what is there already and copies pictures only into the new strips.
import { rgb, word32 } from "/assets/base.mjs"

const sizes = [3, 4, 5, 6, 7, 8, 9, 10, 12, 14, 16, 18, 20, 24, 28, 32, 36, 40, 48, 56, 64]
const symbolsFrom = 9 // device pixels a drill: below, symbols are mush

export class Board {
  constructor(canvas) {
    this.canvas = canvas
    this.g = canvas.getContext("2d", { alpha: false })
    this.how = "symbols"
    this.lit = -1
    this.cursor = null
    this.frames = []
    this.size = 0 // device pixels a drill; below 3 the whole is scaled
    this.x = this.y = 0 // device pixels of the picture at the canvas's corner
    this.tiny = document.createElement("canvas")
    this.dirty = true
    this.asked = false
    this.changed = [] // drills that are not drawn yet
    this.stale = false // the whole at a pixel a drill is not up to date
    this.drawn = new Map() // sprites by size
  }

  // chart sets what is shown.
  chart(c, cells) {
    const fresh = this.cols !== c.cols || this.rows !== c.rows
    Object.assign(this, { cols: c.cols, rows: c.rows, legend: c.legend, cells, round: c.round })
    this.drawn.clear()
    this.repaint()
    if (fresh && this.w) this.whole()
    this.draw()
  }

  // resize fits the canvas to its place, in whole device pixels.
  resize(cssW, cssH) {
    const ratio = Math.min(2, devicePixelRatio || 1, Math.sqrt(5e6 / Math.max(1, cssW * cssH)))
    this.ratio = ratio
    this.w = Math.max(1, Math.round(cssW * ratio)); this.h = Math.max(1, Math.round(cssH * ratio))
    if (this.canvas.width !== this.w || this.canvas.height !== this.h) { this.canvas.width = this.w; this.canvas.height = this.h }
    this.image = this.g.createImageData(this.w, this.h)
    this.px = new Uint32Array(this.image.data.buffer)
    this.dirty = true
    if (!this.size) this.whole()
    this.clamp()
    if (this.cells && this.size) this.frame() // at once: a canvas that was resized is black
    else this.draw()
  }

  get fit() { return Math.min(this.w / this.cols, this.h / this.rows) }
  whole() {
    const f = this.fit
    this.size = f >= 3 ? Math.floor(f) : f
    this.center(this.cols / 2, this.rows / 2)
  }

  center(cx, cy) {
    this.x = Math.round(cx * this.size - this.w / 2)
    this.y = Math.round(cy * this.size - this.h / 2)
    this.clamp()
    this.dirty = true
    this.draw()
  }

  clamp() {
    const W = this.cols * this.size, H = this.rows * this.size
    const one = (v, whole, room) => Math.round(whole <= room ? (whole - room) / 2 : Math.max(0, Math.min(whole - room, v)))
    this.x = one(this.x, W, this.w); this.y = one(this.y, H, this.h)
  }

  // zoom goes a step in or out and keeps the point under the fingers.
  zoom(steps, px = this.w / 2, py = this.h / 2) {
    const all = [this.fit, ...sizes.map(s => s).filter(s => s > this.fit)]
    if (this.fit >= 3) all[0] = Math.floor(this.fit)
    let i = all.findIndex(s => s >= this.size - 1e-6)
    if (i < 0) i = all.length - 1
    this.to(all[Math.max(0, Math.min(all.length - 1, i + steps))], px, py)
  }

  to(size, px, py) {
    if (size === this.size) return
    const cx = (this.x + px) / this.size, cy = (this.y + py) / this.size
    this.size = size
    this.x = Math.round(cx * size - px); this.y = Math.round(cy * size - py)
    this.clamp()
    this.dirty = true
    this.draw()
  }

  pan(dx, dy) { this.x += Math.round(dx); this.y += Math.round(dy); this.clamp(); this.draw() }

  // at is the drill under a point of the page, or null.
  at(clientX, clientY) {
    const r = this.canvas.getBoundingClientRect()
    const x = Math.floor(((clientX - r.left) * this.w / r.width + this.x) / this.size), y = Math.floor(((clientY - r.top) * this.h / r.height + this.y) / this.size)
    return x >= 0 && y >= 0 && x < this.cols && y < this.rows ? { x, y } : null
  }

  // show brings a drill into sight.
  show({ x, y }) {
    const m = Math.min(this.size * 2, this.w / 4, this.h / 4)
    const l = x * this.size, t = y * this.size
    const nx = Math.min(l - m, Math.max(this.x, l + this.size + m - this.w)), ny = Math.min(t - m, Math.max(this.y, t + this.size + m - this.h))
    if (nx !== this.x || ny !== this.y) { this.x = Math.round(nx); this.y = Math.round(ny); this.clamp() }
    this.draw()
  }

  set mode(how) { this.how = how; this.drawn.clear(); this.dirty = true; this.draw() }
  light(i) { if (i !== this.lit) { this.lit = i; this.drawn.clear(); this.repaint(); this.draw() } }

  // put changes drills on screen at once.
  put(list) {
    for (const [i, v] of list) { this.cells[i] = v; this.changed.push(i) }
    this.stale = true
    this.draw()
  }

  // tones are a color's red, green and blue as shown: faded where another is lit.
  tone(k) {
    const c = rgb(this.legend[k].hex)
    if (this.lit < 0 || this.lit === k) return c
    const to = this.legend[this.lit].l > 60 ? 72 : 226 // a light color shines on dark, a dark one on light
    return c.map(v => Math.round(v * .22 + to * .78))
  }

  repaint() {
    if (!this.cells) return
    this.dirty = true
    this.stale = false
    const { cols, rows } = this
    if (this.tiny.width !== cols || this.tiny.height !== rows) { this.tiny.width = cols; this.tiny.height = rows }
    const g = this.tiny.getContext("2d"), im = g.createImageData(cols, rows), to = new Uint32Array(im.data.buffer)
    const col = this.legend.map((_, k) => word32(...this.tone(k)))
    for (let i = 0; i < to.length; i++) to[i] = col[this.cells[i]]
    g.putImageData(im, 0, 0)
  }

  // spritesAt draws every color's drill at the present size, one under the
  // other, and reads them back at once. The last few sizes are kept.
  spritesAt() {
    const s = this.size, N = this.legend.length
    const kept = this.drawn.get(s)
    if (kept) return kept
    const c = document.createElement("canvas")
    c.width = s; c.height = s * N
    const g = c.getContext("2d", { willReadFrequently: true })
    this.legend.forEach((e, k) => this.sprite(g, e, k, s, k * s))
    const all = new Uint32Array(g.getImageData(0, 0, s, s * N).data.buffer)
    const sprites = this.legend.map((_, k) => all.subarray(k * s * s, (k + 1) * s * s))
    if (this.drawn.size > 11) this.drawn.delete(this.drawn.keys().next().value)
    this.drawn.set(s, sprites)
    return sprites
  }

  sprite(g, e, k, s, top) {
    const [r, gg, b] = this.tone(k), faded = this.lit >= 0 && this.lit !== k
    g.setTransform(1, 0, 0, 1, 0, top)
    g.globalAlpha = 1
    g.fillStyle = `rgb(${r},${gg},${b})`
    g.fillRect(0, 0, s, s)
    if (this.how === "set") {
      const edge = Math.max(1, s >> 3)
      g.fillStyle = "#fff"; g.globalAlpha = .16
      g.fillRect(0, 0, s, edge); g.fillRect(0, 0, edge, s)
      g.fillStyle = "#000"; g.globalAlpha = .2
      g.fillRect(0, s - edge, s, edge); g.fillRect(s - edge, 0, edge, s)
      return
    }
    g.fillStyle = "#000"; g.globalAlpha = faded ? .12 : .22
    g.fillRect(0, s - 1, s, 1); g.fillRect(s - 1, 0, 1, s)
    if (s < symbolsFrom || !e.path) return
    g.globalAlpha = faded ? .3 : 1
    g.fillStyle = faded ? (this.legend[this.lit].l > 60 ? "#fff" : "#000") : e.white ? "#fff" : "#000"
    const box = s * .36
    g.setTransform(box / 100, 0, 0, box / 100, (s - 1) / 2, top + (s - 1) / 2)
    g.fill(e.shape ??= new Path2D(e.path), "evenodd")
  }

  draw() {
    if (this.asked || !this.cells || !this.w) return
    this.asked = true
    requestAnimationFrame(() => { this.asked = false; this.frame() })
  }

  // frame draws what is seen now and returns how long that took.
  frame() {
    const t = performance.now()
    if (this.how === "afar" || this.size < 3) this.scaled()
    else this.blit()
    this.over()
    return performance.now() - t
  }

  scaled() {
    if (this.stale) this.repaint()
    this.changed.length = 0
    const g = this.g
    g.fillStyle = "#8a8a8a"
    g.fillRect(0, 0, this.w, this.h)
    g.imageSmoothingEnabled = this.how === "afar" || this.size < 3
    g.imageSmoothingQuality = "high"
    g.drawImage(this.tiny, -this.x, -this.y, this.cols * this.size, this.rows * this.size)
    this.last = null
  }

  blit() {
    const sprites = this.spritesAt()
    if (sprites !== this.sprites) { this.sprites = sprites; this.dirty = true }
    const { w, h, px, last } = this
    const dx = last ? this.x - last.x : 0, dy = last ? this.y - last.y : 0
    if (this.dirty || !last || Math.abs(dx) >= w || Math.abs(dy) >= h) this.part(0, 0, w, h)
    else if (dx || dy) {
      const by = dy * w + dx
      if (by > 0) px.copyWithin(0, by)
      else px.copyWithin(-by, 0, px.length + by)
      if (dy > 0) this.part(0, h - dy, w, h)
      else if (dy < 0) this.part(0, 0, w, -dy)
      if (dx > 0) this.part(w - dx, 0, w, h)
      else if (dx < 0) this.part(0, 0, -dx, h)
    }
    if (!this.dirty) for (const i of this.changed) {
      const l = i % this.cols * this.size - this.x, t = Math.floor(i / this.cols) * this.size - this.y
      if (l < w && t < h && l + this.size > 0 && t + this.size > 0) this.part(Math.max(0, l), Math.max(0, t), Math.min(w, l + this.size), Math.min(h, t + this.size))
    }
    this.changed.length = 0
    this.last = { x: this.x, y: this.y }
    this.dirty = false
    this.g.putImageData(this.image, 0, 0)
  }

  // part copies pictures of drills into a rectangle of the image.
  part(x0, y0, x1, y1) {
    const { w, px, size: s, cols, rows, cells, sprites } = this, gray = word32(138, 138, 138)
    for (let y = y0; y < y1; y++) {
      const py = y + this.y, cy = Math.floor(py / s), row = y * w
      if (py < 0 || cy >= rows) { px.fill(gray, row + x0, row + x1); continue }
      const sy = (py - cy * s) * s, line = cy * cols
      let x = x0
      const left = Math.min(x1, Math.max(x0, -this.x)), right = Math.max(x0, Math.min(x1, cols * s - this.x))
      if (left > x0) px.fill(gray, row + x0, row + left)
      if (right < x1) px.fill(gray, row + right, row + x1)
      x = left
      let cx = Math.floor((x + this.x) / s), sx = x + this.x - cx * s
      while (x < right) {
        const sp = sprites[cells[line + cx]]
        const end = Math.min(right, x + s - sx)
        let from = sy + sx
        for (let to = row + x; to < row + end; to++) px[to] = sp[from++]
        x = end; sx = 0; cx++
      }
    }
  }

  // over draws lines every ten drills, frames and the cursor.
  over() {
    const { g, size: s } = this
    if (s >= 3) {
      g.fillStyle = "#000"
      g.globalAlpha = s < 9 ? .35 : .55
      const W = Math.min(this.w, this.cols * s - this.x), H = Math.min(this.h, this.rows * s - this.y), l = Math.max(0, -this.x), t = Math.max(0, -this.y)
      for (let c = 0; c <= this.cols; c += 10) { const x = c * s - this.x; if (x >= 0 && x <= this.w) g.fillRect(x - 1, t, s < 9 ? 1 : 2, H - t) }
      for (let r = 0; r <= this.rows; r += 10) { const y = r * s - this.y; if (y >= 0 && y <= this.h) g.fillRect(l, y - 1, W - l, s < 9 ? 1 : 2) }
      g.globalAlpha = 1
    }
    for (const f of this.frames) this.box(f.x, f.y, f.w, f.h, f.color ?? "#fff")
    if (this.cursor) this.box(this.cursor.x, this.cursor.y, 1, 1, "#fff")
  }

  box(x, y, w, h, color) {
    const { g, size: s } = this, l = x * s - this.x, t = y * s - this.y, k = Math.max(2, Math.round(s / 9))
    g.lineWidth = k * 2 + 2
    g.strokeStyle = "#000"
    g.strokeRect(l - k, t - k, w * s + 2 * k - 1, h * s + 2 * k - 1)
    g.lineWidth = k
    g.strokeStyle = color
    g.strokeRect(l - k, t - k, w * s + 2 * k - 1, h * s + 2 * k - 1)
  }
}

// steer lets pointers, wheel and pinch move a board. point is told of taps;
// brush, where it gives something, gets strokes instead of the panning.
export function steer(glass, board, { point, hover, brush }) {
  const fingers = new Map()
  let pinch, moved, stroke
  glass.addEventListener("wheel", e => {
    e.preventDefault()
    const r = board.canvas.getBoundingClientRect(), k = board.w / r.width
    if (e.ctrlKey || !e.shiftKey && Math.abs(e.deltaX) < Math.abs(e.deltaY)) board.zoom(e.deltaY < 0 ? 1 : -1, (e.clientX - r.left) * k, (e.clientY - r.top) * k)
    else board.pan(e.deltaX * k || e.deltaY * k, e.shiftKey ? 0 : e.deltaY * k)
  }, { passive: false })
  glass.addEventListener("pointerdown", e => {
    if (e.button > 1 || fingers.size >= 2) return
    fingers.set(e.pointerId, { x: e.clientX, y: e.clientY })
    glass.setPointerCapture(e.pointerId)
    moved = 0
    if (fingers.size === 2) {
      stroke?.cancel(); stroke = null
      const [a, b] = [...fingers.values()]
      pinch = { d: Math.hypot(a.x - b.x, a.y - b.y), size: board.size }
    } else if (e.button === 0) {
      stroke = brush?.() ?? null
      const c = board.at(e.clientX, e.clientY)
      if (stroke && c) stroke.at(c)
    }
  })
  glass.addEventListener("pointermove", e => {
    const f = fingers.get(e.pointerId)
    if (!f) { hover?.(board.at(e.clientX, e.clientY)); return }
    const k = board.w / board.canvas.getBoundingClientRect().width
    const dx = e.clientX - f.x, dy = e.clientY - f.y
    moved += Math.abs(dx) + Math.abs(dy)
    if (fingers.size === 2) {
      f.x = e.clientX; f.y = e.clientY
      const [a, b] = [...fingers.values()], r = board.canvas.getBoundingClientRect()
      const d = Math.hypot(a.x - b.x, a.y - b.y)
      const want = pinch.size * d / Math.max(1, pinch.d)
      const size = want < 3 ? Math.max(board.fit, want) : Math.min(64, Math.round(want))
      board.to(size, ((a.x + b.x) / 2 - r.left) * k, ((a.y + b.y) / 2 - r.top) * k)
      board.pan(-dx * k / 2, -dy * k / 2)
      return
    }
    if (stroke) {
      for (const p of e.getCoalescedEvents?.().length ? e.getCoalescedEvents() : [e]) { const c = board.at(p.clientX, p.clientY); if (c) stroke.at(c) }
      f.x = e.clientX; f.y = e.clientY
      return
    }
    if (moved < 5) return
    f.x = e.clientX; f.y = e.clientY
    board.pan(-dx * k, -dy * k)
  })
  const up = e => {
    if (!fingers.delete(e.pointerId)) return
    if (e.type === "pointercancel") { stroke?.cancel(); stroke = null; return }
    if (stroke) { stroke.end(); stroke = null; return }
    if (moved < 5 && fingers.size === 0) { const c = board.at(e.clientX, e.clientY); if (c) point(c) }
  }
  glass.addEventListener("pointerup", up)
  glass.addEventListener("pointercancel", up)
  new ResizeObserver(() => board.resize(glass.clientWidth, glass.clientHeight)).observe(glass)
}
