// Wires the steps to the core: the case as the page has it goes in, the core's answer is shown.
const VIEWS = { first: firstView, tooth: toothView, shade: shadeView, cavity: cavityView, chair: chairView, tryIn: tryInView, record: recordView, bench: benchView };

class App {
  constructor() {
    Object.assign(this, { step: "tooth", tool: "point", chosen: 0, found: [], card: null, notes: [], photos: new Map(), answer: null, prediction: null, tabsCompared: {}, tryInShown: 0, compared: null, comparedOf: "", sheet: null, roles: [], clocks: {}, tabToBox: "" });
    this.bench = { tabsName: "tabs", name: "", role: "body", index: 1.5, result: null, wrong: null };
    this.demo = JSON.parse(document.getElementById("demo").textContent);
    this.doc = new Document(() => this.changed());
    this.core = new Core((done, step) => this.say(t("working", { step })));
  }

  async run() {
    document.documentElement.lang = LANGUAGE;
    document.getElementById("skip").textContent = t("skip");
    document.getElementById("steps").setAttribute("aria-label", t("stepsName"));
    document.getElementById("tools").setAttribute("aria-label", t("caseName"));
    this.say(t("starting"));
    this.show();
    this.listen();
    try {
      await this.core.start();
      const { version, roles } = await this.core.call("about");
      this.roles = roles;
      document.getElementById("foot").textContent = t("foot", { version });
      this.say(t("ready"));
    } catch (error) {
      this.say("");
      return this.fail(error);
    }
    const kept = Kept.read();
    if (kept) {
      this.doc.reset({ ...structuredClone(BLANK), ...kept });
      this.show();
      this.fail(new Error(t("restored")));
    }
  }

  listen() {
    addEventListener("beforeunload", (event) => { if (!this.doc.saved) { event.preventDefault(); event.returnValue = ""; } });
    addEventListener("dragover", (event) => event.preventDefault());
    addEventListener("drop", (event) => { event.preventDefault(); this.open([...event.dataTransfer.files]); });
    addEventListener("storage", (event) => { if (event.key === Kept.name && event.newValue) this.fail(new Error(t("twoTabs"))); });
    addEventListener("keydown", (event) => {
      if (!(event.ctrlKey || event.metaKey) || /input|select/i.test(event.target.tagName)) return;
      if (event.key === "z" && !event.shiftKey) this.doc.undo();
      else if (event.key === "y" || event.key === "Z") this.doc.redo();
      else return;
      event.preventDefault();
    });
  }

  say(text) { document.getElementById("status").textContent = text; }
  fail(error) { document.getElementById("alert").textContent = error ? error.message : ""; }

  get invented() {
    const { tabs, pastes } = this.doc.value;
    return Boolean((tabs && tabs.invented) || (pastes && pastes.invented));
  }

  go(step) {
    this.step = step;
    this.show();
    if (step === "tryIn") this.solve();
    document.getElementById("step").focus();
    scrollTo(0, 0);
  }

  // The page is drawn anew; whoever was on a control stays on it.
  show() {
    const main = document.getElementById("step");
    const name = (e) => e.tagName + "|" + (e.getAttribute("aria-label") || (e.labels && e.labels[0] && e.labels[0].textContent) || e.textContent);
    const alike = (e) => [...document.querySelectorAll("button, input, select, canvas, summary")].filter((other) => e.tagName === "CANVAS" ? other.tagName === "CANVAS" : name(other) === name(e));
    const held = document.activeElement;
    const place = held && held !== document.body ? alike(held).indexOf(held) : -1;
    const open = new Set([...main.querySelectorAll("details[open] > summary")].map((s) => s.textContent));
    document.getElementById("steps").replaceChildren(...Object.keys(VIEWS).map((step) =>
      button(t("steps." + step), () => this.go(step), this.step === step ? { "aria-current": "step" } : {})));
    document.getElementById("tools").replaceChildren(
      button(t("undo"), () => this.doc.undo(), { disabled: !this.doc.past.length }),
      button(t("redo"), () => this.doc.redo(), { disabled: !this.doc.future.length }),
      button(t("fresh"), () => this.fresh()));
    main.replaceChildren(...VIEWS[this.step](this).flat(9).filter(Boolean));
    for (const summary of main.querySelectorAll("details > summary")) if (open.has(summary.textContent)) summary.parentElement.open = true;
    if (place >= 0 && !held.isConnected) (alike(held)[place] || main).focus({ preventScroll: true });
  }

  changed() {
    if (Kept.read()) this.keep(true);
    this.sheet = null;
    // After the key or the click that made the change has done its own work.
    setTimeout(() => this.show());
    clearTimeout(this.timer);
    this.timer = setTimeout(() => this.solve(), 40);
  }

  async doing(work) {
    try {
      this.fail(null);
      this.say(t("busy"));
      const out = await work();
      this.say(t("ready"));
      return out;
    } catch (error) {
      this.say("");
      this.fail(error);
      return null;
    }
  }

  // Does what the document asks and the answer does not have yet; a change while the core works makes
  // it work once more.
  async solve() {
    if (this.solving) { this.again = true; return; }
    this.solving = true;
    do {
      this.again = false;
      const { value } = this.doc;
      const asked = this.doc.asked(value);
      if (!this.canMeasure()) { this.answer = null; this.answered = ""; }
      else if (this.answered !== asked) {
        const answer = await this.doing(() => this.core.call("solve", this.request()));
        if (this.doc.asked(this.doc.value) !== asked) { this.again = true; continue; }
        this.answer = answer;
        this.answered = answer ? asked : "";
        this.clocks = {};
      }
      await this.compare();
      const { moved } = this.doc.value;
      this.prediction = moved && this.answer && this.answer.plans ? await this.doing(() => this.core.call("predict", { layers: moved })) : null;
    } while (this.again);
    this.solving = false;
    this.show();
  }

  // The try-in that is shown, beside what the answer says; done again when either changes.
  async compare() {
    const { value } = this.doc;
    const one = value.tryIns[this.tryInAt()];
    const asked = this.answer && this.step === "tryIn" && one && this.isComplete(one) ? this.answered + JSON.stringify(one) : "";
    if (asked === this.comparedOf) return;
    this.compared = asked ? await this.doing(() => this.core.call("try_in", { case: this.request(), tryIn: one })) : null;
    this.comparedOf = asked;
  }

  isComplete(one) { return one.kind === "photo" ? this.photos.has(one.photo) && one.point !== null : one.colour.trim() !== ""; }

  tryInAt() { return Math.min(this.tryInShown, this.doc.value.tryIns.length - 1); }

  showTryIn(i) {
    this.tryInShown = i;
    this.show();
    this.solve();
  }

  // With the layers as they stand on the screen now.
  addTryIn() {
    const plan = shownPlan(this);
    const layers = plan ? plan.layers.map(({ paste, thickness_mm }) => ({ paste, thickness_mm })) : [];
    this.tryInShown = this.doc.value.tryIns.length;
    this.doc.change((v) => v.tryIns.push({ date: "", stage: "try_in", cured: true, wet: true, kind: "photo", photo: null, rendering: v.rendering, point: null, colour: "", layers }));
  }

  removeTryIn() { this.doc.change((v) => v.tryIns.splice(this.tryInAt(), 1)); }

  async openTryIn([file]) {
    const key = file && await this.addPhoto(file);
    if (key) this.doc.change((v) => Object.assign(v.tryIns[this.tryInAt()], { photo: key, point: null }));
  }

  canMeasure() {
    const { value } = this.doc;
    return this.photos.has(value.photo) && value.teeth.length > 0 && (value.card || (value.tabs && value.tabBoxes.length > 0));
  }

  lacksForPlan() {
    const { floor, pastes, teeth } = this.doc.value;
    const known = { colour: floor.colour.trim() !== "", curve: Boolean(floor.text), photo: this.photos.has(floor.photo) && Boolean(floor.box) }[floor.kind];
    return [!teeth.length && "tooth", !pastes && "pastes", !known && "floor"].filter(Boolean);
  }

  // What the core is asked: the document without the parts that only the page knows. A saved case
  // has its try-ins too.
  request() {
    const given = structuredClone(this.doc.value);
    given.plan = given.plan && this.lacksForPlan().length === 0;
    given.tryIns = [];
    return given;
  }

  planned() {
    const { plans, recommended } = this.answer || {};
    if (!plans || !plans.length) return null;
    const { choice } = this.doc.value;
    return plans[choice !== null && choice < plans.length ? choice : recommended];
  }

  take(index) { this.doc.change((v) => Object.assign(v, { choice: index, moved: null, done: [] })); }

  // Moves the line above layer `i` by `mm`: it grows, the next one gives.
  move(i, mm) {
    const layers = shownPlan(this).layers.map((l) => ({ paste: l.paste, thickness_mm: l.thickness_mm }));
    const next = i + 1 < layers.length ? i + 1 : i - 1;
    layers[i].thickness_mm = Math.round(100 * (layers[i].thickness_mm + mm)) / 100;
    layers[next].thickness_mm = Math.round(100 * (layers[next].thickness_mm - mm)) / 100;
    if (layers.every((l) => l.thickness_mm >= 0.1)) this.doc.change((v) => Object.assign(v, { moved: layers, done: [] }));
  }

  more(mm) {
    const layers = shownPlan(this).layers.map((l) => ({ paste: l.paste, thickness_mm: l.thickness_mm }));
    layers.at(-1).thickness_mm = Math.round(100 * (layers.at(-1).thickness_mm + mm)) / 100;
    this.doc.change((v) => Object.assign(v, { moved: layers, done: [] }));
  }

  // A photo in the core and on the screen; its key.
  async addPhoto(blob) {
    return this.doing(async () => {
      const seen = await this.core.photo(blob, 1600);
      const bitmap = await createImageBitmap(new ImageData(new Uint8ClampedArray(seen.bytes), seen.shown_width, seen.shown_height)).catch(() => { throw new Error(t("errors.picture")); });
      this.photos.set(seen.key, { bitmap, scale: seen.shown_width / seen.width, width: seen.width, height: seen.height, memory: {}, floorMemory: {}, tryInMemory: {} });
      return seen.key;
    });
  }

  async open(files) {
    for (const file of files) {
      if (/\.(json|csv|txt|cxf|xml)$/i.test(file.name)) await this.openDocument(file.name, await file.text());
      else if (/\.zip$/i.test(file.name)) await this.openCase(file);
      else await this.openPhoto(file);
    }
  }

  async openPhoto(blob) {
    const key = await this.addPhoto(blob);
    if (!key) return;
    this.doc.change((v) => { if (v.photo !== key) Object.assign(v, { photo: key, teeth: [], tabBoxes: [], plan: false }); });
    this.found = [];
    this.card = null;
    this.tool = "point";
    this.go("tooth");
    await this.findTeeth();
    await this.solve();
  }

  async openFloor([file]) {
    const key = file && await this.addPhoto(file);
    if (key) this.doc.change((v) => { Object.assign(v.floor, { photo: key, box: null }); });
  }

  async openCurve([file]) {
    if (!file) return;
    const text = await file.text();
    this.doc.change((v) => { Object.assign(v.floor, { kind: "curve", name: file.name, text }); });
  }

  async openDocument(name, text) {
    const read = await this.doing(() => this.core.call("read", { name, text }));
    if (!read) return;
    if (!["card", "tabs", "pastes"].includes(read.kind)) return this.fail(new Error(t("notKnown", { name })));
    const { bytes, ...kept } = read;
    this.doc.change((v) => { v[read.kind] = kept; if (read.kind === "pastes") v.out = []; });
    this.say(t("readAs", { name: read.name }));
    if (read.kind === "card") await this.findTeeth();
  }

  openDemo(kind) { return this.openDocument(kind, this.demo[kind]); }

  async tryDemo() {
    for (const kind of ["card", "tabs", "pastes"]) await this.openDemo(kind);
    const photo = Uint8Array.from(atob(this.demo.photo), (c) => c.charCodeAt(0));
    await this.openPhoto(new Blob([photo], { type: "image/jpeg" }));
  }

  choose(accept, then = (files) => this.open(files)) {
    const input = h("input", { type: "file", accept, hidden: true, onchange: () => { then([...input.files]); input.remove(); }, oncancel: () => input.remove() });
    document.body.append(input);
    input.click();
  }

  async findTeeth() {
    const { value } = this.doc;
    if (!this.photos.has(value.photo) || !(value.card || (value.tabs && value.tabBoxes.length))) return;
    const asked = { ...this.request(), plan: false };
    const seen = await this.doing(() => this.core.call("card", asked));
    Object.assign(this, { found: [], card: seen ? seen.card : null, notes: seen ? seen.notes : [] });
    this.show();
    // To be clicked; whoever has pointed at teeth already needs none found.
    if (!seen || this.doc.value.teeth.length) return;
    const answer = await this.doing(() => this.core.call("teeth", asked));
    this.found = answer ? answer.teeth : [];
    this.show();
  }

  pointAt([x, y]) {
    this.chosen = this.doc.value.teeth.length;
    this.doc.change((v) => v.teeth.push({ point: [Math.round(x), Math.round(y)] }));
  }

  async saveCase() {
    const whole = { ...this.request(), tryIns: this.doc.value.tryIns.filter((one) => this.isComplete(one)) };
    const answer = await this.doing(() => this.core.call("save", whole));
    if (!answer) return;
    download((this.doc.value.label || "case") + ".zip", answer.bytes, "application/zip");
    this.doc.saved = true;
  }

  async openCase(file) {
    const answer = await this.doing(async () => this.core.call("load", { name: file.name }, await file.arrayBuffer()));
    if (!answer) return;
    for (const key of answer.photos) {
      const { bytes } = await this.core.call("bytes", { key });
      await this.addPhoto(new Blob([bytes]));
    }
    this.doc.reset({ ...structuredClone(BLANK), ...answer.document });
    Object.assign(this, { found: [], chosen: 0 });
    this.go("tooth");
    await this.solve();
    await this.findTeeth();
    if (!answer.whole) this.fail(new Error(t("notWhole")));
  }

  // The sheet of what is on the screen: with the case's name, and the plan as chosen or moved.
  async makeSheet() {
    const { value } = this.doc;
    const planned = this.planned();
    const asked = planned ? { plan: planned.index, ...(value.moved ? { layers: value.moved } : {}) } : {};
    const answer = await this.doing(async () => {
      await this.core.call("solve", this.request());
      return this.core.call("sheet", asked);
    });
    if (answer) this.sheet = new TextDecoder().decode(answer.bytes);
    this.show();
  }

  keep(on) {
    if (!on) Kept.erase();
    const why = on ? Kept.write(this.doc.value) : "";
    if (why) this.fail(new Error(t("keepFailed", { why })));
  }

  fresh() {
    if (!this.doc.saved && !confirm(t("freshAsk"))) return;
    const { card, tabs, pastes, lamp } = this.doc.value;
    this.doc.reset({ ...structuredClone(BLANK), card, tabs, pastes, lamp });
    Object.assign(this, { answer: null, answered: "", found: [], card: null, notes: [], sheet: null, clocks: {}, chosen: 0, compared: null, comparedOf: "" });
    if (Kept.read()) this.keep(true);
    this.go("tooth");
  }

  async buildTabs(file) {
    const name = this.bench.tabsName || "tabs";
    const answer = await this.table(file, "tabs", { name });
    if (answer) this.benchResult({ ...answer, file: name + ".json" });
  }

  async fitPaste(file) {
    const { name, role, index } = this.bench;
    const answer = await this.table(file, "fit", { name: name || file.name.replace(/\.\w+$/, ""), role, index });
    if (answer) this.benchResult({ ...answer, file: (name || "paste") + ".json" });
  }

  // A table for the bench; what is wrong in it is shown cell by cell.
  async table(file, operation, asked) {
    const text = await file.text();
    const answer = await this.doing(() => this.core.call(operation, { ...asked, file: file.name, text }));
    this.bench.wrong = answer ? null : { file: file.name, text, sentence: document.getElementById("alert").textContent };
    if (!answer) { this.bench.result = null; this.show(); }
    return answer;
  }

  async auditTabs(file = null) {
    const { tabs } = this.doc.value;
    const asked = { tabs: { name: tabs.name, text: tabs.text } };
    if (file) asked.earlier = { name: file.name, text: await file.text() };
    const answer = await this.doing(() => this.core.call("audit", asked));
    if (answer) this.benchResult(answer);
  }

  benchResult(answer) {
    this.bench.wrong = null;
    this.bench.result = { ...answer, sheet: answer.bytes && new TextDecoder().decode(answer.bytes) };
    this.show();
  }

  async cardToPrint() {
    const answer = await this.doing(() => this.core.call("card_to_print"));
    if (answer) download("card.svg", answer.bytes, "image/svg+xml");
  }

  async tableToFill() {
    const answer = await this.doing(() => this.core.call("table_to_fill"));
    if (answer) download("drawdowns.csv", answer.bytes, "text/csv");
  }
}

const app = new App();
app.run();
