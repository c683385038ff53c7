// The doors to the rooms and the lists of choices. Words from the release are only ever set as text.
export function render({model}) {
  const bar = document.createElement("div")
  bar.className = "bar"

  const doors = document.createElement("nav")
  doors.setAttribute("aria-label", "Rooms")
  for (const name of model.doors) {
    const door = document.createElement("button")
    door.type = "button"
    door.textContent = name
    door.addEventListener("click", () => model.send_msg({name: "room", value: name}))
    doors.append(door)
  }
  if (model.doors.length) { bar.append(doors) }

  const lists = new Map()
  for (const {name, label, options} of model.lists) {
    const field = document.createElement("label")
    field.className = name
    const words = document.createElement("span")
    words.textContent = label
    const list = document.createElement("select")
    for (const [value, text] of options) { list.add(new Option(text, value)) }
    list.addEventListener("change", () => model.send_msg({name, value: list.value}))
    field.append(words, list)
    bar.append(field)
    lists.set(name, {field, list})
  }

  const choose = () => {
    for (const door of doors.children) {
      if (door.textContent === model.values.room) { door.setAttribute("aria-current", "page") }
      else { door.removeAttribute("aria-current") }
    }
    for (const [name, {list}] of lists) { list.value = model.values[name] }
  }
  const offer = () => {
    for (const [name, {field}] of lists) { field.hidden = !model.shown.includes(name) }
  }
  model.on("values", choose)
  model.on("shown", offer)
  choose()
  offer()
  return bar
}
