// Beneath the text: what the entry at the cursor is, and the words it takes, to be chosen in place.

const at = (id) => document.getElementById(id);

export class Keys {
  constructor(bench) {
    this.bench = bench;
    this.place = at("key");
    this.keys = new Map();
    this.shown = "";
    document.addEventListener("selectionchange", () => {
      if (document.activeElement === bench.editor.area) this.follow();
    });
  }

  async begin() {
    const keys = await (await fetch("keys")).json();
    for (const key of keys) this.keys.set(key.path, key);
  }

  follow() {
    const { area } = this.bench.editor;
    const entry = entryAt(area.value, area.selectionStart);
    const key = entry && this.keys.get(entry.path);
    const shown = key ? `${entry.path} ${entry.value}` : "";
    if (shown === this.shown) return;
    this.shown = shown;
    if (!key) {
      this.place.replaceChildren();
      return;
    }
    const says = document.createElement("span");
    says.textContent = `${key.says.replaceAll("`", "")}${/[.!?]$/.test(key.says) ? "" : "."}`;
    this.place.replaceChildren(says, ...(key.words.length ? [this.choices(key, entry)] : []));
  }

  choices(key, entry) {
    const choice = document.createElement("select");
    choice.setAttribute("aria-label", `Choose ${entry.path}`);
    const own = key.words.includes(entry.value) ? [] : [entry.value];
    choice.append(...[...own, ...key.words].map((word) => new Option(word, word, false, word === entry.value)));
    choice.addEventListener("change", async () => {
      const wrong = await this.bench.write([[entry.path, choice.value]]);
      if (wrong.length) choice.value = entry.value;
    });
    return choice;
  }
}

/** The entry whose line holds a place in the text: its path and its value without quotes. */
function entryAt(text, place) {
  const end = text.indexOf("\n", place);
  const lines = text.slice(0, end < 0 ? text.length : end).split("\n");
  const found = /^\s*([A-Za-z_]+)\s*=\s*(?:"([^"]*)"|([^#]*))/.exec(lines.at(-1));
  if (!found) return null;
  const table = lines.findLast((line) => /^\s*\[/.test(line));
  const name = /^\s*\[([A-Za-z_.]+)\]/.exec(table ?? "")?.[1];
  return name ? { path: `${name}.${found[1]}`, value: (found[2] ?? found[3]).trim() } : null;
}
