// Writes the chosen view into the address bar. The first time it replaces the address, so that
// stepping back leaves the page as a reader expects; every later choice is a step of its own.
export function render({model}) {
  const write = (step) => {
    const query = model.query
    if (!query || window.location.search === query) { return }
    const url = window.location.pathname + query + window.location.hash
    if (step) { window.history.pushState({}, "", url) } else { window.history.replaceState({}, "", url) }
  }
  write(false)
  model.on("query", () => write(true))
  return document.createElement("span")
}
