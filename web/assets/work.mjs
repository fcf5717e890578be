// Photo, size and ladder: one place, because each is judged by the others.
import { $, boot, el, fill, get, kit, on, oops, post, rest, saving, w } from "/assets/base.mjs"
import * as photo from "/assets/photo.mjs"
import * as size from "/assets/size.mjs"
import * as ladder from "/assets/ladder.mjs"
import * as look from "/assets/look.mjs"
import * as settings from "/assets/settings.mjs"
import { hold } from "/assets/work-state.mjs"

export let state // what is wanted, as the table keeps it
export let canvas // how the photo lies

// change asks for something else. What cannot be is said where it was asked,
// and the field goes back.
export async function change(order, how = {}) {
  asked++
  saving("saving")
  let a
  try {
    a = await post(kit + "/order", { order, print: how.print ?? {}, ladder: how.ladder ?? Object.keys(order).some(k => !["title", "colors"].includes(k)) })
  } catch (e) {
    saving("not", e)
    fill($("news"), oops(e))
  }
  answered++
  if (a) {
    Object.assign(state, { order: a.order, print: a.print, command: a.command, stale: a.stale })
    saving("saved")
    fill($("news"))
  }
  show()
  if (a && Object.keys(order).length) await lay()
  return Boolean(a)
}

let asked = 0, answered = 0 // changes of ours
export const asking = () => asked !== answered

// keeps gets what is wanted, as the table keeps it. An answer that may be older
// than a change of ours would take that back on the screen: it is not taken.
async function keeps() {
  for (;;) {
    const was = asked, s = !asking() ? await get(kit) : await new Promise(r => setTimeout(r, 50))
    if (s && was === asked) return hold(s)
  }
}

// lay asks how the photo lies now.
let laying
export async function lay() {
  laying?.abort()
  laying = new AbortController()
  try {
    canvas = await get(kit + "/canvas", { signal: laying.signal })
    show()
  } catch (e) {
    if (e.name === "AbortError") return
    fill($("advice"), oops(e))
  }
}

function show() {
  $("command").textContent = state.command
  for (const part of [photo, size, look, settings, ladder]) part.show(state, canvas)
}

async function again() {
  state = await keeps()
  saving("saved")
  await lay()
  look.again()
  await ladder.fetch(true)
}

export async function begin() {
  state = hold(await get(kit))
  saving("saved")
  for (const part of [photo, size, look, ladder, settings]) part.begin(state, change)
  show()
  on("again", again)
  on("order", e => { if (e.kit === boot.kit) quietly() })
  $("copy").addEventListener("click", async () => {
    try { await navigator.clipboard.writeText($("command").textContent); $("copy").textContent = w("typed.copied") } catch { getSelection().selectAllChildren($("command")) }
  })
  await ladder.fetch(true)
  await lay()
}

// Another tab, or the answer to our own change, said something new.
const quietly = rest(120, async () => {
  const was = JSON.stringify(state.order)
  state = await keeps()
  if (JSON.stringify(state.order) !== was) { show(); await lay() }
})
