// The small buttons under a figure: its table, and its files. A file is asked for over the session's own
// connection and saved by the browser; no address exists under which it could be fetched by others.
export function render({model, el}) {
  const bar = document.createElement("div")
  bar.className = "tools"
  const words = {csv: "CSV", xlsx: "XLSX", svg: "SVG", png: "PNG"}
  const status = document.createElement("span")
  status.setAttribute("role", "status")

  const button = (label, what) => {
    const made = document.createElement("button")
    made.type = "button"
    made.textContent = label
    made.setAttribute("aria-label", `${label}: ${what}`)
    bar.append(made)
    return made
  }
  const fill = () => {
    bar.replaceChildren()
    if (model.offers_table) {
      const table = button("Table", model.figure)
      table.setAttribute("aria-expanded", String(model.open))
      table.addEventListener("click", () => { model.open = !model.open })
    }
    for (const kind of model.kinds) {
      const file = button(words[kind], `download ${model.figure}`)
      file.addEventListener("click", () => {
        status.textContent = "Preparing the file"
        model.send_msg({kind})
      })
    }
    bar.append(status)
    bar.hidden = !model.offers_table && !model.kinds.length
  }
  model.on("msg:custom", ({name, mime, content}) => {
    const bytes = Uint8Array.from(atob(content), c => c.charCodeAt(0))
    const link = document.createElement("a")
    link.href = URL.createObjectURL(new Blob([bytes], {type: mime}))
    link.download = name
    link.click()
    setTimeout(() => URL.revokeObjectURL(link.href), 10000)
    status.textContent = ""
  })
  model.on("open", () => {
    const table = bar.querySelector("[aria-expanded]")
    if (table) { table.setAttribute("aria-expanded", String(model.open)) }
  })
  // A plot is a picture without words; the figure's own sentence becomes its text.
  const within = (root, matches) => {
    const found = []
    for (const node of root.querySelectorAll("*")) {
      if (matches(node)) { found.push(node) }
      if (node.shadowRoot) { found.push(...within(node.shadowRoot, matches)) }
    }
    return found
  }
  let plot = null
  const name = () => {
    plot.setAttribute("role", "img")
    plot.setAttribute("aria-label", `${model.figure}. ${model.sentence}`)
  }
  const tell = () => {
    if (!model.kinds.includes("svg")) { return }
    // The trees are searched once; from then on the figure stands where it stood.
    if (plot?.isConnected) { name(); return }
    let root = bar.getRootNode()
    // Out of the tools, out of their column, into the figure's column; not further, to the neighbours.
    for (let step = 0; step < 3 && root.host; step++) {
      [plot] = within(root, node => node.classList.contains("bk-Figure"))
      if (plot) {
        name()
        // Nothing can be done inside by keyboard that the table does not do better.
        for (const stop of within(plot.shadowRoot || plot, node => node.tabIndex === 0)) { stop.tabIndex = -1 }
        return
      }
      root = root.host.getRootNode()
    }
  }
  model.on(["kinds", "figure", "offers_table"], fill)
  model.on(["sentence", "figure"], tell)
  model.on("after_layout", tell)
  model.on("after_render", tell)
  model.on("lifecycle:update_layout", tell)
  fill()
  return bar
}
