// The page's first module: the place it shows, then the stream.
import { boot, listen, oops, fill, $ } from "/assets/base.mjs"

if (location.search.includes("key=")) history.replaceState(null, "", "/")
const places = { start: "start", work: "work", chart: "chart", drills: "drills", print: "print", placing: "placing", share: "share" }
if (places[boot.place]) {
  document.querySelector("nav [aria-current]")?.scrollIntoView({ block: "nearest", inline: "center" })
  try {
    const place = await import("/assets/" + places[boot.place] + ".mjs")
    if (boot.place !== "share") await listen()
    await place.begin()
  } catch (e) {
    fill($("news"), oops(e.what ? e : { what: e.message }))
    console.error(e)
  }
}
document.documentElement.dataset.ready = "yes"
