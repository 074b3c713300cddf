// Type-ahead over the components: a box to write in and a list that narrows with each letter, by any of the names
// restorers use. It stands in for the plain choice of the same form, and sends that form at once.

const MOST = 12;

class PartPicker extends HTMLElement {
  connectedCallback() {
    this.room = this.querySelector(".made");
    if (!this.room || !this.select || this.room.firstChild) return;
    this.build();
    this.classList.add("quick");
  }

  /** The plain choice, as the page has it now. */
  get select() {
    return this.querySelector("select[name=component]");
  }

  /** Each choice once, from the assembly it stands in. */
  get choices() {
    const options = [...this.select.options].filter((one) => one.value);
    return [...new Map(options.map((one) => [one.value, choiceOf(one)])).values()];
  }

  build() {
    const id = `${this.id || "picker"}-list`;
    this.box = made("input", {
      type: "search", role: "combobox", autocomplete: "off", spellcheck: false, maxLength: 100,
      placeholder: this.dataset.hint ?? "", ariaLabel: this.dataset.label ?? "What is it?",
      ariaExpanded: "false", ariaAutoComplete: "list",
    });
    this.box.setAttribute("aria-controls", id);
    if (this.dataset.boxKey) this.box.dataset.key = this.dataset.boxKey;
    this.list = made("ul", { id, role: "listbox", hidden: true, ariaLabel: "Components" });
    this.room.append(this.box, this.list);
    this.box.addEventListener("focus", () => (this.known = this.choices));
    this.box.addEventListener("input", () => this.narrow());
    this.box.addEventListener("keydown", (event) => this.onKey(event));
    this.box.addEventListener("blur", () => setTimeout(() => this.show([]), 150));
    // Before the focus goes: on a phone a press may take it first.
    this.list.addEventListener("pointerdown", (event) => event.preventDefault());
    this.list.addEventListener("click", (event) => {
      const item = event.target.closest("[role=option]");
      if (item) this.choose(item.dataset.value);
    });
  }

  narrow() {
    const words = folded(this.box.value).split(" ").filter(Boolean);
    const found = words.length ? this.known.map((one) => [worth(one, words), one]).filter(([n]) => n > 0) : [];
    found.sort(([a], [b]) => b - a);
    this.show(found.slice(0, MOST).map(([, one]) => one));
  }

  show(found) {
    this.at = found.length ? 0 : -1;
    this.list.hidden = !found.length;
    this.box.ariaExpanded = String(found.length > 0);
    this.list.replaceChildren(...found.map((one, n) => itemOf(one, `${this.list.id}-${n}`)));
    this.point();
  }

  point() {
    [...this.list.children].forEach((item, n) => (item.ariaSelected = String(n === this.at)));
    const here = this.list.children[this.at];
    if (here) this.box.setAttribute("aria-activedescendant", here.id);
    else this.box.removeAttribute("aria-activedescendant");
    here?.scrollIntoView({ block: "nearest" });
  }

  onKey(event) {
    const count = this.list.children.length;
    if (event.key === "Enter") {
      event.preventDefault();
      if (count) this.choose(this.list.children[this.at].dataset.value);
    } else if (count && (event.key === "ArrowDown" || event.key === "ArrowUp")) {
      event.preventDefault();
      this.at = (this.at + (event.key === "ArrowDown" ? 1 : count - 1)) % count;
      this.point();
    }
  }

  choose(value) {
    this.select.value = value;
    this.box.value = "";
    this.show([]);
    const button = this.select.closest("label")?.parentElement.querySelector("button");
    this.select.form.requestSubmit(button ?? undefined);
  }
}

/** A choice with the words it is found by: its name first, then its other names and its assembly. */
function choiceOf(option) {
  const label = option.dataset.label ?? option.label;
  const others = option.dataset.names ?? "";
  const assembly = option.closest("optgroup")?.label ?? "";
  return { value: option.value, label, others, assembly, first: folded(label), rest: folded(`${others} ${assembly}`) };
}

/** How well a choice answers: every word must begin one of its words; the name weighs more than the rest. */
function worth(choice, words) {
  let sum = choice.first === words.join(" ") ? 20 : choice.first.startsWith(words[0]) ? 4 : 0;
  for (const word of words) {
    if (begins(choice.first, word)) sum += 4;
    else if (begins(choice.rest, word)) sum += 2;
    else if (choice.first.includes(word)) sum += 1;
    else return 0;
  }
  return sum - choice.first.length / 200;
}

function begins(said, word) {
  return said.startsWith(word) || said.includes(` ${word}`);
}

function folded(said) {
  return said.toLowerCase().normalize("NFD").replace(/[^a-z0-9 ]+/g, " ").replace(/ +/g, " ").trim();
}

function itemOf(choice, id) {
  const item = made("li", { id, role: "option" });
  item.dataset.value = choice.value;
  item.append(made("b", { textContent: choice.label }));
  const more = [choice.others, choice.assembly].filter(Boolean).join(" · ");
  if (more) item.append(" ", made("span", { className: "small", textContent: more }));
  return item;
}

function made(tag, properties) {
  return Object.assign(document.createElement(tag), properties);
}

customElements.define("part-picker", PartPicker);
