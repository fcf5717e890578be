// A tablet beside the canvas: placing of one kit, by a key that opens once.
import { $, boot, fill, hold, oops } from "/assets/base.mjs"

export async function begin() {
  const answer = await fetch("/enter", { method: "POST", body: JSON.stringify({ key: location.hash.slice(1) }) })
  const got = await answer.json()
  history.replaceState(null, "", "/")
  if (!answer.ok) return fill($("placing"), oops(got.error))
  Object.assign(boot, { share: true, kit: got.kit, name: got.name })
  hold(got.token)
  const placing = await import("/assets/placing.mjs")
  await placing.begin()
  setInterval(() => { if (document.visibilityState === "visible") placing.refresh() }, 5000)
}
