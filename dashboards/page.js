// Light or dark as the reader's system prefers, or as chosen here; on paper always light. The address is the
// state: going back in the browser loads the earlier one again.
(() => {
  const page = document.documentElement
  const system = window.matchMedia("(prefers-color-scheme: dark)")
  const kept = () => { try { return window.localStorage.getItem("evenhand-looks") } catch { return null } }
  const keep = looks => { try { window.localStorage.setItem("evenhand-looks", looks) } catch { return } }
  const wish = () => kept() ?? (system.matches ? "dark" : "light")

  // Figures take their colours from the page's styles whenever they are painted.
  const repaint = now => {
    const views = [...(window.Bokeh?.index ?? [])]
    while (views.length) {
      const view = views.pop()
      if (view.model.type === "Figure") {
        // The drawing library leaves the outermost pixels of a canvas as they were.
        const layer = view.canvas_view.primary
        layer.undo_transform(ctx => ctx.clearRect(0, 0, layer.canvas.width, layer.canvas.height))
        if (now) { view.invalidate_painters(); view.paint() } else { view.request_paint() }
      }
      views.push(...(view.child_views ?? []))
    }
  }
  const look = (looks, now = false) => {
    if (page.dataset.looks === looks) { return }
    const first = page.dataset.looks === undefined
    page.dataset.looks = looks
    const button = document.getElementById("looks")
    if (button) { button.textContent = looks === "dark" ? "Light" : "Dark" }
    if (!first) { repaint(now) }
  }
  look(wish())
  system.addEventListener("change", () => look(wish()))
  // The sheet is taken as it stands when this returns.
  window.addEventListener("beforeprint", () => look("paper", true))
  window.addEventListener("afterprint", () => look(wish()))
  // Another tab of this browser signed out: what this one shows is no longer for whoever sits here.
  new BroadcastChannel("evenhand").onmessage = () => window.location.replace("sign-out")
  window.addEventListener("popstate", () => window.location.reload())

  // Longer words at an axis move nothing but that figure's own insides: its width and height are given from
  // outside. The drawing library measures and places every part of the page anew for them, figure by figure.
  const alone = () => {
    let views = window.Bokeh?.Models?.get("Figure")?.prototype.default_view?.prototype
    while (views && !Object.hasOwn(views, "_invalidate_layout_if_needed")) { views = Object.getPrototypeOf(views) }
    if (!views || !("_compute_layout" in views)) { return }
    views.compute_layout = function() {
      this.measure_layout()
      this.update_bbox()
      this._compute_layout()
      this.after_layout()
    }
  }

  const ready = () => { document.getElementById("waiting")?.remove() }
  const settle = () => {
    const shown = window.Bokeh?.documents?.[0]
    if (!shown) { setTimeout(settle, 20); return }
    if (shown.is_idle) { ready() } else { shown.idle.connect(ready) }
  }
  // Once: the loader of script modules says a second time that the page has come.
  document.addEventListener("DOMContentLoaded", () => {
    const button = document.getElementById("looks")
    button.textContent = page.dataset.looks === "dark" ? "Light" : "Dark"
    button.addEventListener("click", () => {
      const looks = page.dataset.looks === "dark" ? "light" : "dark"
      keep(looks)
      look(looks)
    })
    alone()
    settle()
  }, {once: true})
})()
