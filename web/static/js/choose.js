// Choosing photos on the contact sheet: a whole run at one press, a row of them with the shift key, and a bar that
// counts. Without it the boxes are ticked one by one, or a run by its link.

class PhotoChooser extends HTMLElement {
  connectedCallback() {
    this.addEventListener("change", (event) => this.onChange(event));
    this.addEventListener("click", (event) => this.onClick(event));
    this.observer = new MutationObserver(() => this.count());
    this.observer.observe(this, { childList: true, subtree: true });
    this.count();
  }

  disconnectedCallback() {
    this.observer.disconnect();
  }

  get boxes() {
    return [...this.querySelectorAll("input[name=photo]")];
  }

  onClick(event) {
    const run = event.target.closest("[data-whole-run]");
    if (run) {
      event.preventDefault();
      event.stopPropagation();
      this.wholeRun(run.closest(".run"));
    } else if (event.target.matches?.("input[name=photo]")) {
      this.row(event);
    }
  }

  wholeRun(section) {
    const boxes = [...section.querySelectorAll("input[name=photo]")];
    const on = boxes.some((box) => !box.checked);
    for (const box of boxes) box.checked = on;
    this.count();
  }

  /** With the shift key all photos between the last one ticked and this one follow it. */
  row(event) {
    const boxes = this.boxes;
    const [here, last] = [boxes.indexOf(event.target), boxes.indexOf(this.last)];
    if (event.shiftKey && last >= 0) {
      const [first, end] = here < last ? [here, last] : [last, here];
      for (const box of boxes.slice(first, end + 1)) box.checked = event.target.checked;
    }
    this.last = event.target;
  }

  onChange(event) {
    if (event.target.matches("input[name=photo]")) this.count();
  }

  count() {
    const count = this.boxes.filter((box) => box.checked).length;
    const bar = this.querySelector(".with-chosen");
    if (!bar) return;
    const words = count ? `${count} ${count === 1 ? "photo" : "photos"} chosen` : "No photo is chosen";
    const told = bar.querySelector(".chosen-count");
    if (told.textContent !== words) told.textContent = words;
    bar.classList.toggle("is-empty", count === 0);
  }
}

customElements.define("photo-chooser", PhotoChooser);
