// Changes by hand: on screen at once, then told to the table, one after
// another. Nothing is let go of before the table says that it is saved.
import { $, boot, chip, el, few, fill, kit, on, oops, post, pageID, saving, w } from "/assets/base.mjs"
import { board, cells, chart, load, turned } from "/assets/chart.mjs"

const queue = [] // not told yet
let told = [] // told, but not on the disk yet
let onDisk = 0 // the log that is on the disk; it may be told before the answer comes
let busy = false
let anew = false // the drills on the screen are the table's, without what is in the queue

export function begin() {
  $("undo").addEventListener("click", () => back("undo"))
  $("redo").addEventListener("click", () => back("redo"))
  on("saved", e => {
    if (e.kit !== boot.kit) return
    onDisk = e.log
    settled()
  })
  on("unsaved", e => { if (e.kit === boot.kit) saving("not", e.error) })
  addEventListener("beforeunload", e => { if (queue.length) e.preventDefault() })
  saving("saved")
}

function settled() {
  told = told.filter(t => t.log > onDisk)
  if (!queue.length && !told.length && !anew) saving("saved") // and on the screen as it is saved
}

export function show() {
  $("undo").disabled = !chart.undo
  $("redo").disabled = !chart.redo
  fill($("changes"), chart.changes.length ? chart.changes.slice(0, 30).map(c => el("li", {}, chip({ ...chart.legend.find(l => l.address === c.to.address), ...c.to }),
    el("span", {}, c.drills === undefined ? w("changes." + c.act, c.to.address) : c.act === "swap" ? w("changes.swap", c.from, c.to.address) : w("changes.set", few("count.drills", c.drills), c.to.address, c.x + 1, c.y + 1)))) : el("li", { class: "quiet" }, w("changes.none")))
}

export const back = which => send([{ act: which }])

// stroke collects the drills of one movement; between two points it draws a
// line, because a pointer jumps.
export function stroke(color) {
  const was = new Map()
  let last
  const one = (x, y) => {
    const i = y * chart.cols + x
    if (was.has(i) || cells[i] === color) return
    was.set(i, cells[i])
    board.put([[i, color]])
  }
  return {
    at(c) {
      if (!last) one(c.x, c.y)
      else {
        const steps = Math.max(Math.abs(c.x - last.x), Math.abs(c.y - last.y))
        for (let k = 1; k <= steps; k++) one(Math.round(last.x + (c.x - last.x) * k / steps), Math.round(last.y + (c.y - last.y) * k / steps))
      }
      last = c
    },
    cancel() { board.put([...was]) },
    end() {
      if (!was.size) return
      const to = chart.legend[color].address
      const list = [...was.keys()].sort((a, b) => a - b), runs = []
      for (const i of list) {
        const r = runs.at(-1)
        if (r && i === r.i + r.n && i % chart.cols) r.n++
        else runs.push({ i, n: 1 })
      }
      send(runs.map((r, k) => ({ act: "set", to, box: [r.i % chart.cols, Math.floor(r.i / chart.cols), r.n, 1], with: k > 0 })))
    },
  }
}

// send tells the table, in order.
export function send(list) {
  queue.push(list)
  saving("saving")
  return work()
}

// shown: the drills on the screen were just read from the table, or are what it
// has anyway.
function shown() {
  if (!queue.length) anew = false
  settled()
}

// take takes from the queue what the table has answered; it may be out of it
// already.
function take(list) {
  const at = queue.indexOf(list)
  if (at >= 0) queue.splice(at, 1)
}

async function work() {
  if (busy) return
  busy = true
  while (queue.length) {
    const list = queue[0]
    try {
      const c = await post(kit + "/edit", { log: chart.log, edits: list })
      take(list)
      if (!c.turned) told.push({ log: c.log, list })
      settled()
      if (!queue.length && anew) await load()
      else if (c.turned) await turned(c)
      else if (!queue.length) await load(c)
      else chart.log = c.log
      shown()
    } catch (e) {
      if (e.code === "changed") { await load(); recall(); continue } // another tab was quicker: on top of that
      if (e.code === "making") { await new Promise(r => setTimeout(r, 500)); continue }
      take(list) // it cannot be: the chart as it is
      fill($("chartnews"), oops(e))
      await load().catch(() => { })
      shown()
    }
  }
  busy = false
}

// elsewhere: another tab changed the chart.
export async function elsewhere(e) {
  if (e.page === pageID() || busy || e.log === chart.log) return
  await load()
  fill($("chartnews"), el("p", { class: "toast", role: "status" }, w("chart.elsewhere")))
}

// recall: what the table no longer knows, because it ended before that was on
// its disk, is told once more, before all that came later.
function recall() {
  anew = true
  onDisk = chart.saved ? chart.log : Math.min(onDisk, chart.log)
  const lost = told.filter(t => t.log > chart.log)
  told = told.filter(t => t.log <= chart.log)
  queue.unshift(...lost.map(t => t.list))
}

// again: the table was away.
export async function again() {
  try {
    await load()
    recall()
    if (queue.length) await work()
    else shown()
  } catch (e) { fill($("chartnews"), oops(e)) }
}
