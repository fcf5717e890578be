// What is wanted of the kit, for places that only show its fields.
export let state
export const hold = s => (state = s)
