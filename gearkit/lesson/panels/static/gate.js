// What the panels with predictions share: which case is open, what was said for it, and sending both to the kernel.

export class Gate {
  // state: the panel's PanelModel; caseNow: returns the case at hand as the kernel names it
  constructor(state, caseNow) {
    this.state = state;
    this.caseNow = caseNow;
  }

  isOpen(name = this.caseNow()) {
    return !this.state.get("gated") || this.state.get("opened").includes(name);
  }

  saidNow() {
    const said = this.state.get("prediction");
    return said && said.case === this.caseNow() ? said : null;
  }

  afterword() {
    return this.state.get("afterwords")[this.caseNow()] || "";
  }

  handlers() {
    return {
      // Numbers are read in the kernel, as in exercises and sheets: it opens the case, or says what is wrong.
      // The case is said for a page without a kernel, which keeps the prediction by itself.
      predict: ({ kind, figure }) => this.state.send({ do: "predict", kind, figure, case: this.caseNow() }),
      troubled: (act) => this.state.listenToMessages(({ trouble }) => { if (trouble) act(trouble); }),
      explain: (text) => this.keep({ explanation: { text, case: this.caseNow() } }),
      again: () => this.keep({ opened: this.state.get("opened").filter((name) => name !== this.caseNow()) }),
    };
  }

  keep(changes) {
    this.state.set(changes);
    this.state.save();
  }
}
