// The first place: bring a photo, or go on with a kit.
import { $, boot, call, el, few, fill, get, n, on, oops, post, w, word32, rgb, rest } from "/assets/base.mjs"

const most = 300 * 1024 * 1024

async function bring(file) {
  if (!file) return
  fill($("dropnews"))
  if (file.size > most) return fill($("dropnews"), oops({ what: w("start.large", file.name), try: w("fault.large.try") }))
  $("reading").textContent = w("start.reading", file.name)
  try {
    const made = await call("POST", "/api/kits?name=" + encodeURIComponent(file.name || "photo"), file)
    location.href = "/kit/" + made.kit
  } catch (e) {
    fill($("dropnews"), oops(e))
    $("reading").textContent = ""
  }
  $("pick").value = $("take").value = ""
}

export async function begin() {
  for (const id of ["pick", "take"]) $(id).addEventListener("change", e => bring(e.target.files[0]))
  const drop = $("drop")
  for (const kind of ["dragenter", "dragover"]) addEventListener(kind, e => { e.preventDefault(); drop.classList.add("over") })
  addEventListener("dragleave", e => { if (!e.relatedTarget) drop.classList.remove("over") })
  addEventListener("drop", e => { e.preventDefault(); drop.classList.remove("over"); bring(e.dataTransfer.files[0]) })
  addEventListener("paste", e => bring(e.clipboardData?.files[0]))
  $("demo").addEventListener("click", async () => {
    try { location.href = "/kit/" + (await post("/api/kits?demo=1")).kit } catch (e) { fill($("dropnews"), oops(e)) }
  })
  on("table", rest(100, list))
  on("kit", rest(100, list))
  on("again", list)
  await Promise.all([list(), split()])
}

async function list() {
  const { kits, library } = await get("/api/kits")
  $("where").textContent = w("kits.where", library)
  fill($("list"), kits.length ? kits.map(line) : el("li", { class: "quiet" }, w("kits.none")))
}

function line(k) {
  const says = k.error ? el("span", { class: "quiet" }, k.error.what, " ", k.error.try ?? "")
    : k.made ? el("span", {}, w("kits.made", +(k.made.width / 10).toFixed(1), +(k.made.height / 10).toFixed(1), k.made.colors))
    : el("span", { class: "quiet" }, w("kits.begun"))
  const placed = k.made?.placed > 0 ? [el("progress", { max: k.made.drills, value: k.made.placed, "aria-label": w("kits.placed") }), el("span", { class: "quiet" }, w("kits.progress", n(k.made.placed), n(k.made.drills)))] : null
  const api = "/api/kits/" + k.id
  const act = (word, f) => el("button", { class: "btn plain", "aria-label": w(word) + ": " + k.name, onclick: f }, w(word))
  const name = el("input", { value: k.name, maxlength: "80", "aria-label": w("kits.newname"), hidden: true })
  const rename = async () => {
    if (name.hidden) { name.hidden = false; name.focus(); name.select(); return }
    try { await post(api + "/name", { name: name.value }) } catch (e) { fill($("kitnews"), oops(e)) }
    list()
  }
  name.addEventListener("keydown", e => { if (e.key === "Enter") rename(); if (e.key === "Escape") name.hidden = true })
  return el("li", {},
    el("a", { href: "/kit/" + k.id }, el("img", { src: k.made ? api + "/look.png?px=1&v=" + k.made.mark : api + "/photo.jpg?w=200", alt: "", width: 96, height: 96, loading: "lazy" }),
      el("span", {}, el("b", {}, k.name), says, placed)),
    name,
    el("p", { class: "row tight" }, act("kits.rename", rename), act("kits.copy", async () => { try { await post(api + "/copy") } catch (e) { fill($("kitnews"), oops(e)) } }),
      act("kits.remove", async () => {
        try {
          const { place } = await post(api + "/trash")
          fill($("kitnews"), el("p", { class: "toast" }, w("kits.removed", k.name), " ", el("button", { class: "btn", onclick: async () => { await post("/api/restore", { place }); fill($("kitnews")) } }, w("changes.undo"))))
          $("kitnews").querySelector("button").focus()
        } catch (e) { fill($("kitnews"), oops(e)) }
      })))
}

// The demo cat, half photo and half drills.
async function split() {
  const { cols, rows, hex, cells, photo } = await get("/api/demo")
  const c = $("split"), g = c.getContext("2d")
  const px = 6
  c.width = cols * px; c.height = rows * px
  const img = new Image()
  img.src = photo
  await img.decode()
  g.drawImage(img, 0, 0, c.width, c.height)
  const out = new ImageData(Math.floor(cols / 2) * px, rows * px), to = new Uint32Array(out.data.buffer)
  const from = cols - Math.floor(cols / 2)
  const tone = hex.map(h => { const v = rgb(h); return [1.05, 1, .88].map(f => word32(...v.map(x => Math.min(255, x * f)))) })
  for (let y = 0; y < rows; y++) for (let x = from; x < cols; x++) for (let j = 0; j < px; j++) for (let i = 0; i < px; i++)
    to[(y * px + j) * out.width + (x - from) * px + i] = tone[cells[y * cols + x]][i === px - 1 || j === px - 1 ? 2 : i === 0 || j === 0 ? 0 : 1]
  g.putImageData(out, from * px, 0)
  g.fillStyle = "#fff"
  g.fillRect(from * px - 1, 0, 3, c.height)
}
