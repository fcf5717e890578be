// Print: each page as it will come out, then into the kit folder, as one ZIP,
// or file by file.
import { $, boot, el, few, fill, get, kit, on, oops, post, saving, w } from "/assets/base.mjs"
import { field } from "/assets/settings.mjs"
import * as work from "/assets/work-state.mjs"

let data, state
const chosen = new Map() // by name: whether it is wanted

export async function begin() {
  state = work.hold(await get(kit))
  saving("saved")
  try { await load() } catch (e) {
    fill($("printnews"), oops(e), el("p", {}, el("a", { class: "btn first", href: "/kit/" + boot.kit }, w("nav.work"))))
    on("kit", () => location.reload())
    return
  }
  on("again", load)
  on("edited", e => { if (e.kit === boot.kit) load() })
  on("kit", e => { if (e.kit === boot.kit) load() })
  on("order", e => { if (e.kit === boot.kit) load() })
  on("printed", e => { if (e.kit === boot.kit) fill($("made"), el("p", { class: "toast" }, w("print.saved", e.folder))) })
  on("job", e => {
    if (e.kit !== boot.kit || e.kind !== "prints") return
    if (e.state === "failed") fill($("made"), oops(e.error))
    else if (e.state === "working") fill($("made"), el("p", { class: "quiet" }, w("print.making"), " ", e.stage ?? ""))
  })
}

let asking = 0
async function load() {
  const me = ++asking
  const d = await get(kit + "/prints")
  if (me !== asking) return
  data = d
  show()
}

async function change(name, value) {
  saving("saving")
  try {
    const a = await post(kit + "/order", { print: { [name]: value } })
    state.print = a.print
    saving("saved")
    fill($("printnews"))
    await load()
    return true
  } catch (e) {
    saving("not", e)
    fill($("printnews"), oops(e))
    return false
  }
}

const cm = v => +(v / 10).toFixed(1)
const key = () => encodeURIComponent(data.mark + JSON.stringify(data.print)).length + "-" + data.mark + "-" + hash(JSON.stringify(data.print))
const hash = s => { let h = 5381; for (const c of s) h = (h * 33 ^ c.charCodeAt(0)) >>> 0; return h }

function show() {
  const prints = data.files.filter(f => f.print), others = data.files.filter(f => !f.print)
  for (const f of prints) if (!chosen.has(f.name)) chosen.set(f.name, !f.apart)
  const open = $("prints").querySelector("details[open]") !== null
  const had = document.activeElement?.id
  fill($("prints"),
    data.stale ? el("p", { class: "oops" }, w("chart.stale"), " ", el("a", { href: "/kit/" + boot.kit + "/chart" }, w("nav.chart"))) : null,
    el("ul", { class: "pages" }, prints.map(leaf)),
    el("section", { class: "make" },
      el("p", { class: "row" },
        el("button", { class: "btn first", id: "zip", onclick: zip }, ""),
        el("button", { class: "btn", id: "save", onclick: save }, w("print.save"))),
      el("div", { id: "made", role: "status" }),
      el("p", { class: "quiet small" }, w("print.where", data.folder)),
      el("p", { class: "quiet small" }, w("print.scale")),
      data.advice.map(a => el("p", { class: "advice" }, a)),
      paper(),
      el("details", { open }, el("summary", {}, w("print.settings")), forms()),
      el("details", {}, el("summary", {}, w("print.others")), el("ul", {}, others.map(f => el("li", { class: "row" }, el("button", { class: "btn plain", onclick: () => down(kit + "/file/" + f.name, f.name) }, f.name), el("span", { class: "quiet" }, f.what))))),
      el("p", { class: "quiet small" }, w("print.care"))))
  count()
  if (had && $(had)) $(had).focus()
}

function count() {
  const files = data.files.filter(f => f.print && chosen.get(f.name))
  $("zip").textContent = w("print.zip", few("count.files", files.length))
  $("zip").disabled = !files.length
}

// leaf is a print with the picture of its pages.
function leaf(f) {
  let page = 1
  const many = f.sheets?.pages ?? 1
  const src = p => f.sheets && !f.sheets.error ? `${kit}/page/${f.name}/${p}?px=680&v=${key()}` : f.name.endsWith(".png") ? `${kit}/look.png?px=3&v=${key()}` : ""
  const looks = src(1) !== ""
  const img = el("img", {  src: src(1), alt: w("print.alt", titleOf(f), 1, many), width: 300, height: 300, loading: "lazy" })
  const says = el("span", { class: "quiet small" })
  const tell = () => { says.textContent = many > 1 ? w("print.page", page, many) : "" ; img.alt = w("print.alt", titleOf(f), page, many) }
  const turn = by => { page = (page - 1 + by + many) % many + 1; img.src = src(page); tell() }
  tell()
  const size = f.sheets?.width ? w("print.size", cm(f.sheets.width), cm(f.sheets.height), few("count.pages", many)) : ""
  return el("li", {},
    el("label", {}, el("input", { type: "checkbox", id: "take-" + f.name, checked: chosen.get(f.name), onchange: e => { chosen.set(f.name, e.target.checked); count() } }),
      el("span", { class: "pg" }, f.sheets?.error ? oops(f.sheets.error) : looks ? img : el("span", { class: "plaintable" }, f.name)),
      el("span", { class: "pick" }, el("span", { class: "box", "aria-hidden": "true" }), el("span", {}, el("b", {}, titleOf(f)), el("br"), el("span", { class: "quiet small" }, f.what + ". ", size)))),
    el("p", { class: "row tight" },
      many > 1 ? [el("button", { class: "btn", "aria-label": w("print.before", titleOf(f)), onclick: () => turn(-1) }, "‹"), says, el("button", { class: "btn", "aria-label": w("print.after", titleOf(f)), onclick: () => turn(1) }, "›")] : null,
      el("button", { class: "btn plain", "aria-label": w("print.one") + ": " + f.name, onclick: () => down(kit + "/file/" + f.name, f.name) }, w("print.one"))))
}

// titleOf names a file: by itself, by what it is of, or by its bare name.
const titleOf = f => boot.words["file." + f.name] ?? boot.words["word." + f.word] ?? f.word

const papers = ["a4", "letter"]
function paper() {
  const is = (data.print.paper || "a4").toLowerCase()
  return el("fieldset", { class: "picks" }, el("legend", {}, w("setting.paper")),
    papers.map(p => el("label", {}, el("input", { type: "radio", name: "paper", id: "paper-" + p, checked: is === p, onchange: () => change("paper", p) }), el("span", {}, w("paper." + p)))))
}

function forms() {
  const groups = new Map()
  for (const s of state.settings) if (s.print && s.name !== "paper") {
    if (!groups.has(s.group)) groups.set(s.group, [])
    groups.get(s.group).push(s)
  }
  return [...groups].map(([g, all]) => el("section", { class: "group" }, el("h2", {}, g), el("div", { class: "fields" }, all.map(s => field(s, data.print[s.name] ?? "", v => change(s.name, v))))))
}

// down asks for a file, and lays it where the browser lays what it loads.
export async function down(path, name) {
  fill($("made"), el("p", { class: "quiet" }, w("print.making"), " ", name))
  try {
    const answer = await get(path, { raw: true })
    const url = URL.createObjectURL(await answer.blob())
    const a = el("a", { href: url, download: name })
    document.body.append(a)
    a.click()
    a.remove()
    setTimeout(() => URL.revokeObjectURL(url), 60000)
    fill($("made"), el("p", { class: "toast" }, w("print.loaded", name)))
  } catch (e) { fill($("made"), oops(e)) }
}

const zip = () => {
  const names = data.files.filter(f => f.print && !f.apart && chosen.get(f.name)).map(f => f.name)
  const test = data.files.find(f => f.apart && chosen.get(f.name))
  if (test) down(kit + "/file/" + test.name, test.name)
  if (names.length) down(kit + "/zip?only=" + names.join(","), data.folder.split(/[\\/]/).pop() + ".zip")
}

async function save() {
  try { await post(kit + "/save") } catch (e) { fill($("made"), oops(e)) }
}
