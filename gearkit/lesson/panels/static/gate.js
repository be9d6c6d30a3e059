// What the panels with predictions share: which case is open, what was said for it, and sending both to the kernel.

export class Gate {
  // caseNow: returns the case at hand as the kernel names it
  constructor(model, caseNow) {
    this.model = model;
    this.caseNow = caseNow;
  }

  isOpen(name = this.caseNow()) {
    return !this.model.get("gated") || this.model.get("opened").includes(name);
  }

  saidNow() {
    const said = this.model.get("prediction");
    return said && said.case === this.caseNow() ? said : null;
  }

  handlers() {
    return {
      predict: (said) => {
        this.model.set("prediction", { ...said, case: this.caseNow() });
        this.model.set("opened", [...this.model.get("opened"), this.caseNow()]);
        this.model.save_changes();
      },
      explain: (text) => {
        this.model.set("explanation", { text, case: this.caseNow() });
        this.model.save_changes();
      },
      again: () => {
        this.model.set("opened", this.model.get("opened").filter((name) => name !== this.caseNow()));
        this.model.save_changes();
      },
    };
  }
}
