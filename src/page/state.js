// The case as the person has it on the page. It changes only by `change`, so that every step can be
// undone; photos stand apart, by key, since they never change.
const BLANK = {
  label: "", photo: null, rendering: false, posterior: false,
  card: null, tabs: null, pastes: null, out: [], tabBoxes: [], teeth: [],
  floor: { kind: "photo", photo: null, box: null, colour: "" },
  depth: 2, lamp: 1000, layers: 2, anyOrder: false, wall: false, zone: "", lights: false,
  choice: null, moved: null, done: [], plan: false,
  date: "", operator: "", lots: [], tryIns: [],
  opened: "",
};
// What the answer does not depend on.
const BESIDE = { label: "", choice: null, moved: null, done: [], date: "", operator: "", lots: [], tryIns: [] };

class Document {
  constructor(onChange) {
    this.onChange = onChange;
    this.reset(structuredClone(BLANK));
  }

  reset(value) {
    this.value = value;
    this.past = [];
    this.future = [];
    this.saved = true;
  }

  change(edit) {
    const before = structuredClone(this.value);
    edit(this.value);
    // A plan is of what it was made from.
    if (this.asked(before) !== this.asked(this.value)) Object.assign(this.value, { choice: null, moved: null, done: [] });
    if (JSON.stringify(before) === JSON.stringify(this.value)) return;
    this.past.push(before);
    if (this.past.length > 200) this.past.shift();
    this.future = [];
    this.saved = false;
    this.onChange();
  }

  asked(value) { return JSON.stringify({ ...value, ...BESIDE }); }

  step(from, to) {
    if (!from.length) return;
    to.push(this.value);
    this.value = from.pop();
    this.saved = false;
    this.onChange();
  }

  undo() { this.step(this.past, this.future); }
  redo() { this.step(this.future, this.past); }
}

// What a browser keeps between visits: nothing unless asked, and never a photo
// (the case names photos by their digest).
const Kept = {
  name: "mamelon case",
  read() {
    try { return JSON.parse(localStorage.getItem(this.name)); } catch { return null; }
  },
  // Why it could not be kept; empty when it was.
  write(value) {
    try { localStorage.setItem(this.name, JSON.stringify(value)); return ""; } catch (error) { return error.message; }
  },
  erase() {
    try { localStorage.removeItem(this.name); } catch { /* nothing was kept where nothing can be */ }
  },
};
