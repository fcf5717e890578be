import { fill, $ } from "/assets/base.mjs"
export async function begin() { fill($("placing")) }
