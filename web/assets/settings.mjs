// Everything else that may be wanted: the one table of settings as a form.
import { $, el, fill, w, boot } from "/assets/base.mjs"
import { state } from "/assets/work-state.mjs"

// What is drawn or chosen elsewhere on this place.
const elsewhere = ["size", "crop", "subject", "add", "cut", "focus", "colors", "calm", "own", "buy", "buy-bags", "bag-size", "stock"]

let change
export function begin(_, how) { change = how }

export function show() {
  const groups = new Map()
  for (const s of state.settings) {
    if (s.print || elsewhere.includes(s.name)) continue
    if (!groups.has(s.group)) groups.set(s.group, [])
    groups.get(s.group).push(s)
  }
  if ($("settings").contains(document.activeElement) && $("settings").childElementCount) {
    for (const s of state.settings) { const f = $("set-" + s.name); if (f && f !== document.activeElement) { if (f.type === "checkbox") f.checked = state.order[s.name] === "true"; else f.value = state.order[s.name] ?? "" } }
    return
  }
  fill($("settings"), [...groups].map(([g, all]) => el("section", { class: "group" }, el("h2", {}, g), el("div", { class: "fields" }, all.map(s => field(s, state.order[s.name] ?? "", v => change({ [s.name]: v })))))))
}

// field is a setting as a field: words to choose from, or text.
export function field(s, value, save) {
  const id = "set-" + s.name
  const label = boot.words["setting." + s.name] ?? s.name.replaceAll("-", " ")
  const choices = s.name === "card" ? state?.cards?.map(c => c.name) : /^[a-z]+(\|[a-z]+)+$/.test(s.type) ? s.type.split("|") : null
  const is = value
  if (s.type === "bool") return el("div", { class: "field" }, el("label", { class: "row", for: id }, el("input", { type: "checkbox", id, checked: is === "true", "aria-describedby": id + "-why", onchange: async e => { if (await save(String(e.target.checked)) === false) e.target.checked = is === "true" } }), el("b", {}, label)), el("span", { class: "why", id: id + "-why" }, s.says))
  const back = async (f, v) => { if (await save(v) === false) f.value = is }
  const input = choices
    ? el("select", { id, "aria-describedby": id + "-why", onchange: e => back(e.target, e.target.value) }, (choices.includes(is) ? choices : [is, ...choices]).map(c => el("option", { value: c, selected: c === is }, boot.words["choice." + c] ?? c)))
    : el("input", { type: "text", id, value: is, placeholder: s.type === "string" ? "" : s.type, autocomplete: "off", spellcheck: "false", "aria-describedby": id + "-why", onchange: e => back(e.target, e.target.value) })
  return el("div", { class: "field" }, el("label", { for: id }, el("b", {}, label)), input, el("span", { class: "why", id: id + "-why" }, s.says))
}
