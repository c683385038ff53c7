// Four things the page library leaves out: the spacer under the strip calls
// itself a heading, a system that prefers dark gets a light page, and its lists open to a mouse only and
// call their options menu items.
const OPENS = ["Enter", " ", "ArrowDown", "ArrowUp"]

export function render({model, el}) {
  const dark = window.matchMedia("(prefers-color-scheme: dark)")
  const follow = () => { model.dark = dark.matches }
  // A wish sent while the page is still being built is lost: the page takes up its own setting last.
  const settle = () => {
    const veil = document.getElementById("loader")
    if (veil && veil.style.display !== "none") { setTimeout(settle, 100) } else { setTimeout(follow, 300) }
  }
  settle()
  dark.addEventListener("change", follow)

  const press = event => {
    const box = event.composedPath()[0]
    if (!OPENS.includes(event.key) || box.getAttribute?.("role") !== "combobox") { return }
    if (!box.classList.contains("MuiSelect-select") || box.getAttribute("aria-expanded") === "true") { return }
    event.preventDefault()
    box.click()
  }
  // The list comes some frames after the click, in the box's tree or in one around it.
  const listed = event => {
    const box = event.composedPath()[0].closest?.("[role=combobox]")
    if (box) { setTimeout(() => call(box, 40), 25) }
  }
  const call = (box, tries) => {
    for (let root = box.getRootNode(); root; root = root.host && root.host.getRootNode()) {
      const items = root.querySelectorAll("[role=listbox] [role=menuitem]")
      for (const item of items) {
        item.setAttribute("role", "option")
        item.setAttribute("aria-selected", String(item.matches(".Mui-selected")))
      }
      if (items.length) { return }
    }
    if (tries) { setTimeout(() => call(box, tries - 1), 25) }
  }
  document.addEventListener("keydown", press, true)
  document.addEventListener("click", listed, true)

  const shown = document.createElement("span")
  const name = () => {
    let root = shown.getRootNode()
    while (root.host && !root.querySelector("header.MuiAppBar-root")) { root = root.host.getRootNode() }
    for (const spacer of root.querySelectorAll("main .MuiToolbar-root")) {
      spacer.setAttribute("aria-hidden", "true")
    }
  }
  model.on("after_render", name)
  model.on("lifecycle:update_layout", name)
  model.on("remove", () => {
    dark.removeEventListener("change", follow)
    document.removeEventListener("keydown", press, true)
    document.removeEventListener("click", listed, true)
  })
  return shown
}
