// Three things the page library leaves out: the busy bar has no name, the spacer under the strip calls
// itself a heading, and a system that prefers dark gets a light page.
export function render({model, el}) {
  const dark = window.matchMedia("(prefers-color-scheme: dark)")
  const follow = () => { model.dark = dark.matches }
  follow()
  dark.addEventListener("change", follow)

  const shown = document.createElement("span")
  const name = () => {
    let root = shown.getRootNode()
    while (root.host && !root.querySelector("header.MuiAppBar-root")) { root = root.host.getRootNode() }
    for (const bar of root.querySelectorAll("header [role=progressbar]")) {
      bar.setAttribute("aria-label", "Reading the release")
    }
    for (const spacer of root.querySelectorAll("main .MuiToolbar-root")) {
      spacer.setAttribute("aria-hidden", "true")
    }
  }
  model.on("after_render", name)
  model.on("lifecycle:update_layout", name)
  model.on("remove", () => dark.removeEventListener("change", follow))
  return shown
}
