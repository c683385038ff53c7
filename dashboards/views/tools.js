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
  model.on(["kinds", "figure"], fill)
  fill()
  return bar
}
