// The form in place: another one begins with its own sheet; what stood there comes back by undo.

const at = (id) => document.getElementById(id);

export class Forms {
  constructor(bench) {
    this.bench = bench;
    this.choice = at("form");
    this.texts = new Map();
    this.choice.addEventListener("change", () => this.take(this.choice.value));
  }

  async begin() {
    const forms = await (await fetch("forms")).json();
    for (const { form, text } of forms) this.texts.set(form, text);
    this.choice.replaceChildren(...forms.map(({ form }) => new Option(form, form)));
    this.choice.selectedIndex = -1;
  }

  show(form) {
    if (form) this.choice.value = form;
  }

  take(form) {
    const { editor, sliders, keeping } = this.bench;
    sliders.forget();
    editor.become(this.texts.get(form));
    this.bench.changed();
    keeping.ask(`This is a new sheet of the form ${form}, to start from. Yours is not lost: undo brings it back.`, [
      ["Undo", () => editor.undo()],
      ["Go on with it", () => {}],
    ]);
  }
}
