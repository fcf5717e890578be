// What every place of the table needs: words, elements, requests, the stream.

export const boot = JSON.parse(document.getElementById("boot").textContent)
let token = boot.token

// w returns the words of a key, with {0}, {1} ... replaced.
export function w(key, ...with_) {
  const text = boot.words[key] ?? key
  return with_.length ? text.replace(/\{(\d)\}/g, (_, i) => with_[i] ?? "") : text
}

// n writes a whole number as people do.
export const n = v => Math.round(v).toLocaleString("en-US")
// few returns the words for one or for many.
export const few = (key, v) => w(key + (v === 1 ? ".one" : ""), n(v))

// el makes an element: no text is ever read as markup.
export function el(tag, has = {}, ...inside) {
  const e = document.createElement(tag)
  for (const [k, v] of Object.entries(has)) {
    if (v === undefined || v === null || v === false) continue
    if (k === "class") e.className = v
    else if (k.startsWith("on")) e.addEventListener(k.slice(2), v)
    else if (k in e && typeof v !== "string") e[k] = v
    else e.setAttribute(k, v === true ? "" : v)
  }
  e.append(...inside.flat(9).filter(x => x !== null && x !== undefined && x !== false))
  return e
}

const SVG = "http://www.w3.org/2000/svg"
export function svg(tag, has = {}, ...inside) {
  const e = document.createElementNS(SVG, tag)
  for (const [k, v] of Object.entries(has)) {
    if (k.startsWith("on")) e.addEventListener(k.slice(2), v)
    else if (v !== undefined && v !== null && v !== false) e.setAttribute(k, v)
  }
  e.append(...inside.flat(9).filter(x => x))
  return e
}

export const $ = id => document.getElementById(id)
export const fill = (e, ...inside) => e.replaceChildren(...inside.flat(9).filter(x => x !== null && x !== undefined && x !== false))

// Fault is an error as the table tells it: what is wrong, what to try.
export class Fault extends Error {
  constructor(f, status) {
    super(f.what)
    Object.assign(this, { what: f.what, try: f.try, code: f.code, setting: f.setting, status })
  }
}

// oops shows a fault.
export const oops = f => el("div", { class: "oops" }, el("p", {}, el("b", {}, f.what ?? String(f)), f.try ? " " + f.try : ""))

// call asks the table. Where it was restarted, it waits until the door is open
// again, and goes on.
export async function call(method, path, body, how = {}) {
  for (let tries = 0; ; tries++) {
    let answer
    try {
      answer = await fetch(path, {
        method, headers: { "X-Kit-Page": token }, signal: how.signal,
        body: body === undefined ? undefined : body instanceof Blob ? body : JSON.stringify(body),
      })
    } catch (e) {
      if (e.name === "AbortError") throw e
      if (how.once) throw new Fault({ what: w("fault.away"), code: "away" }, 0)
      away("fault.away")
      await sleep(1000)
      continue
    }
    if (answer.status === 403 && !how.once) {
      const f = (await answer.json().catch(() => ({}))).error ?? {}
      if (["cookie", "token"].includes(f.code)) {
        if (!await renew()) {
          away("fault.restarted")
          await sleep(1500)
        }
        continue
      }
      throw new Fault(f.what ? f : { what: w("fault.door") }, 403)
    }
    back()
    if (!answer.ok) throw new Fault((await answer.json().catch(() => ({ error: { what: w("fault.page") } }))).error, answer.status)
    return how.raw ? answer : answer.json()
  }
}
export const get = (path, how) => call("GET", path, undefined, how)
export const post = (path, body = {}, how) => call("POST", path, body, how)
export const kit = boot.kit ? "/api/kits/" + boot.kit : ""
export const bytes = async path => new Uint8Array(await (await get(path, { raw: true })).arrayBuffer())
const sleep = ms => new Promise(r => setTimeout(r, ms))

// renew gets a new token where the door has been opened again.
async function renew() {
  try {
    const a = await fetch("/api/page")
    if (!a.ok) return false
    token = (await a.json()).token
    connect()
    return true
  } catch { return false }
}

let gone = false
function away(key) {
  gone = true
  fill($("news"), el("p", { class: "oops" }, w(key)))
}
function back() {
  if (gone) { gone = false; fill($("news")) }
}

// The one stream of this page. What was told while there was none is never
// told again: whoever shows something asks anew ("again") when one begins late
// or begins once more.
const hears = {}
export const on = (name, f) => (hears[name] ??= []).push(f)
let stream, welcome
let missed = false // something may have been told that was not heard
function connect() {
  stream?.close()
  stream = new EventSource("/events?page=" + encodeURIComponent(token))
  stream.onopen = back
  stream.addEventListener("hello", () => {
    if (missed) for (const f of hears.again ?? []) f()
    else welcome()
  })
  for (const name of ["job", "ladder", "laid", "coarse", "kit", "order", "edited", "saved", "unsaved", "printed", "table", "again", "placed"])
    stream.addEventListener(name, e => { for (const f of hears[name] ?? []) f(JSON.parse(e.data)) })
  stream.addEventListener("moved", () => {
    stream.close()
    fill($("news"), el("p", { class: "oops" }, w("page.moved"), " ", el("button", { class: "btn", onclick: () => { fill($("news")); connect() } }, w("page.here"))))
  })
  stream.onerror = async () => {
    if (stream.readyState === EventSource.CLOSED) { // refused: the table was opened anew
      away("fault.restarted")
      while (!await renew()) await sleep(1500)
      back()
    } else away("fault.away")
  }
}

// listen begins the stream, and waits until it is heard: what a place asks for
// then misses nothing.
export async function listen() {
  const heard = new Promise(r => { welcome = r })
  connect()
  addEventListener("pagehide", () => stream.close())
  addEventListener("pageshow", e => { if (e.persisted) connect() })
  await Promise.race([heard, sleep(2000)])
  missed = true
}

// saving tells whether all is saved, without flicker.
let late
export function saving(state, fault) {
  const s = $("saved")
  if (!s) return
  clearTimeout(late)
  if (state === "saving") late = setTimeout(() => { s.textContent = w("saved.saving") }, 300)
  else if (state === "saved") { s.textContent = w("saved.saved"); s.classList.remove("not") }
  else { s.textContent = w("saved.not", fault?.what ?? "") + (fault?.try ? " " + fault.try : ""); s.classList.add("not") }
}

// rest calls f once nothing was asked for so many milliseconds.
export function rest(ms, f) {
  let t
  return (...a) => { clearTimeout(t); t = setTimeout(() => f(...a), ms) }
}

// frame calls f at most once a frame.
export function frame(f) {
  let asked = false
  return () => { if (!asked) { asked = true; requestAnimationFrame(() => { asked = false; f() }) } }
}

export const rgb = hex => [1, 3, 5].map(i => parseInt(hex.slice(i, i + 2), 16))
// word32 is a color as ImageData keeps it in 32 bits on every machine we run on.
export const word32 = (r, g, b) => (255 << 24 | b << 16 | g << 8 | r) >>> 0

// chip is a color's swatch with its symbol.
export const chip = c => svg("svg", { class: "chip", viewBox: "-100 -100 200 200", "aria-hidden": "true" },
  svg("rect", { x: -100, y: -100, width: 200, height: 200, rx: 20, fill: c.hex }),
  c.path ? svg("path", { d: c.path, "fill-rule": "evenodd", transform: "scale(.68)", fill: c.white ? "#fff" : "#000" }) : null)

// pageID is how the table knows this page.
export const pageID = () => token.split(".")[0]

// hold keeps a token that another door gave.
export const hold = t => { token = t }
