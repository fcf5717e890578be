// Drills: what the picture takes, what she owns of it, what to buy and what
// could stand in; and the card it is chosen from.
import { $, boot, call, chip, el, few, fill, get, kit, n, on, oops, post, saving, w } from "/assets/base.mjs"
import { part as gaugePart } from "/assets/gauge.mjs"

let data

export async function begin() {
  saving("saved")
  try { await load() } catch (e) {
    fill($("drills"), oops(e), el("p", {}, el("a", { class: "btn first", href: "/kit/" + boot.kit }, w("nav.work"))), cardPart((await get(kit)).cards, ""))
    on("kit", () => location.reload())
    return
  }
  on("again", load)
  for (const name of ["edited", "kit", "order"]) on(name, e => { if (e.kit === boot.kit) load() })
}

async function load() { data = await get(kit + "/drills"); show() }

const short = l => Math.max(0, l.ready - l.owned)

function show() {
  const had = document.activeElement?.id
  const missing = data.lines.filter(l => l.owned < l.drills)
  const some = data.lines.filter(l => l.owned > 0).length
  const stands = missing.filter(l => l.owned > 0 && l.stand)
  fill($("drills"),
    data.builtin ? el("p", { class: "oops" }, el("b", {}, w("drills.match")), " ", w("drills.reference")) : null,
    data.stashError ? oops(data.stashError) : null,
    el("div", { class: "list" },
      el("div", { class: "tot" }, el("img", { src: kit + "/look.png?px=2&v=" + data.mark, alt: w("drills.look"), width: 240, height: 240 }),
        el("dl", { class: "sum" }, [[n(data.total.drills), w("size.drills")], [n(data.lines.length), w("drills.colors")], [n(some), w("drills.some")], data.total.bags ? [data.total.bags, w("drills.bags")] : null, data.total.price ? [data.total.price, w("drills.price")] : null].filter(Boolean).map(([v, k]) => el("div", {}, el("dt", {}, k), el("dd", {}, v)))),
        el("form", { class: "field", onsubmit: e => { e.preventDefault(); supply({ bags: $("bagsizes").value }) } }, el("label", { for: "bagsizes" }, w("drills.bagsizes")), el("input", { id: "bagsizes", type: "text", value: data.bags, placeholder: "200, 1000", "aria-describedby": "bagwhy" }), el("span", { class: "why", id: "bagwhy" }, w("drills.bagwhy")), el("button", { class: "btn" }, w("size.take"))),
        el("p", { class: "quiet small" }, w("drills.extra", data.extra)),
        el("p", {}, el("a", { class: "btn", href: kit + "/file/kit.xlsx" }, w("drills.sheet")))),
      el("div", {},
        stands.map(l => el("p", { class: "oops" }, el("b", {}, w("drills.short", l.address, n(l.drills - l.owned))), " ", w("drills.stand", l.stand.address, l.stand.off.toFixed(1)))),
        data.helps?.length && data.helps[0].within < data.within - .005 ? el("p", { class: "advice" }, w("drills.helps", data.helps[0].code, data.within.toFixed(2), data.helps[0].within.toFixed(2))) : null,
        el("table", {}, el("caption", { class: "vh" }, w("drills.title")), el("thead", {}, el("tr", {}, [w("drills.color"), w("drills.need"), w("drills.with"), w("drills.own"), w("drills.buy")].map(t => el("th", { scope: "col" }, t)))),
          el("tbody", {}, data.lines.map(row))),
        owning(),
        cardPart(data.cards, data.card))))
  if (had && $(had)) $(had).focus()
}

function row(l) {
  const id = "own-" + l.number
  const own = el("input", { id, type: "number", min: "0", max: "100000000", value: String(l.owned || ""), placeholder: "0", "aria-label": w("drills.ownof", l.address), onchange: async e => {
    saving("saving")
    try { data = await post(kit + "/own", { address: l.address, drills: Math.round(+e.target.value || 0) }); saving("saved"); show() } catch (err) { saving("not", err); e.target.value = l.owned || ""; fill($("news"), oops(err)) }
  } })
  const cell = (label, ...v) => el("td", { "data-l": label }, ...v)
  return el("tr", {}, el("th", { scope: "row" }, el("span", { class: "what" }, chip(l), el("span", {}, el("b", {}, l.address), el("br"), el("span", { class: "quiet small" }, l.name || l.hex)))),
    cell(w("drills.need"), n(l.drills)), cell(w("drills.with"), n(l.ready)), cell(w("drills.own"), own),
    cell(w("drills.buy"), short(l) === 0 ? el("span", { class: "ok" }, w("drills.enough")) : [el("b", {}, l.owned || !l.bags ? n(short(l)) : l.bags), " ", el("button", { class: "btn", id: "bought-" + l.number, "aria-label": w("drills.boughtof", l.address), onclick: () => bought(l) }, w("drills.bought"))]))
}

// owning says what the picture is chosen from: any color of the card, or what
// she owns, with or without something bought.
function owning() {
  const o = data.order, is = o.own !== "true" ? "any" : +o.buy ? "buy" : +o["buy-bags"] ? "bags" : "own"
  const number = (id, v, words) => el("input", { type: "number", id, min: "1", max: "1000", value: v, "aria-label": words })
  const news = el("div", { id: "ownsays", role: "status" })
  const save = async e => {
    e?.preventDefault()
    const now = document.querySelector("input[name=own]:checked").value
    saving("saving")
    try {
      await post(kit + "/order", { order: { own: String(now !== "any"), buy: now === "buy" ? $("buynew").value : "0", "buy-bags": now === "bags" ? $("buybags").value : "0", "bag-size": $("bagof").value }, ladder: true })
      saving("saved")
      await load()
      fill($("ownsays"), el("p", { class: "toast" }, w(now === "any" ? "own.any.is" : "own.is"), " ", el("a", { href: "/kit/" + boot.kit + "#ladder" }, w("own.see"))))
    } catch (f) { saving("not", f); fill(news, oops(f)) }
  }
  const pick = (value, ...words) => el("li", {}, el("label", { class: "row" }, el("input", { type: "radio", name: "own", id: "own-" + value, value, checked: is === value, onchange: save }), ...words))
  return el("form", { class: "more", onsubmit: save, "aria-labelledby": "ownh" }, el("h2", { id: "ownh" }, w("own.title")), el("p", { class: "quiet small" }, w("own.lead")),
    el("ul", { class: "ownpicks" }, pick("any", w("own.any")), pick("own", w("own.only")), pick("buy", w("own.buy")), pick("bags", w("own.bags"))),
    el("p", { class: "row" }, is === "buy" ? [el("label", { for: "buynew" }, w("own.new")), number("buynew", o.buy)] : el("input", { type: "hidden", id: "buynew", value: "3" }),
      is === "bags" ? [el("label", { for: "buybags" }, w("own.most")), number("buybags", o["buy-bags"])] : el("input", { type: "hidden", id: "buybags", value: "3" }),
      is === "bags" ? [el("label", { for: "bagof" }, w("own.bagof")), el("input", { type: "number", id: "bagof", min: "1", max: "100000", value: o["bag-size"] })] : el("input", { type: "hidden", id: "bagof", value: o["bag-size"] }),
      is === "buy" || is === "bags" ? el("button", { class: "btn" }, w("size.take")) : null),
    news)
}

// bought puts what is on the list into her stash.
async function bought(l) {
  saving("saving")
  try { data = await post(kit + "/own", { address: l.address, drills: l.owned || !l.bags ? short(l) : l.inBags, bought: true }); saving("saved"); show(); $("own-" + l.number)?.focus() } catch (err) { saving("not", err); fill($("news"), oops(err)) }
}

async function supply(print) {
  try { await post(kit + "/order", { print }); fill($("news")); await load() } catch (e) { fill($("news"), oops(e)) }
}

// cardPart brings a supplier's table, and tells what is on a card.
function cardPart(cards, is) {
  const says = el("div", { id: "cardsays", role: "status" })
  const bring = async file => {
    if (!file) return
    try {
      const c = await call("POST", "/api/cards?file=" + encodeURIComponent(file.name), file)
      fill(says, el("p", { class: "toast" }, w("card.brought", c.card, n(c.colors), c.kind)), c.notes?.map(t => el("p", { class: "advice" }, t)), c.left.length ? el("details", {}, el("summary", {}, few("card.left", c.left.length + c.more)), el("ul", {}, c.left.map(t => el("li", {}, t)))) : null,
        el("p", {}, el("button", { class: "btn first", onclick: () => use(c.card) }, w("card.use", c.card))))
    } catch (e) { fill(says, oops(e)) }
  }
  const use = async card => {
    try { await post(kit + "/order", { order: { card, keep: "", avoid: "" }, ladder: true }); location.href = "/kit/" + boot.kit + "#ladder" } catch (e) { fill(says, oops(e)) }
  }
  const check = async card => {
    try {
      const c = await get("/api/cards/" + encodeURIComponent(card))
      fill(says, el("p", { class: "advice" }, w("card.says", card, n(c.colors), n(c.pairs))), c.alike.length ? el("ul", { class: "small" }, c.alike.slice(0, 12).map(([a, b, far]) => el("li", {}, w("card.alike", a, b, far.toFixed(2))))) : null)
    } catch (e) { fill(says, oops(e)) }
  }
  const select = el("select", { id: "cardpick" }, cards.map(c => el("option", { value: c.name, selected: c.name === is }, c.name + (c.own ? "" : " (" + w("card.builtin") + ")"))))
  return el("section", { class: "more" }, el("h2", {}, w("card.title")), el("p", { class: "quiet small" }, w("card.lead")),
    el("p", { class: "row" }, el("label", { class: "btn first" }, el("input", { class: "vh", type: "file", id: "cardfile", accept: ".csv,.tsv,.xlsx,.txt,.cgats,.cxf,.xml", onchange: e => bring(e.target.files[0]) }), w("card.bring"))),
    el("p", { class: "row" }, el("label", { for: "cardpick" }, w("setting.card")), select, el("button", { class: "btn", onclick: () => use(select.value) }, w("card.take")), el("button", { class: "btn", onclick: () => check(select.value) }, w("card.check"))),
    says, measuring ??= gaugePart(use))
}

// What is measured stays as it is while the list around it is drawn anew.
let measuring
