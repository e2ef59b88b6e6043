// Step "Try-in": what came of the plan, beside the tooth and the prediction.
function tryInView(app) {
  const { tryIns } = app.doc.value;
  const head = h("h2", {}, t("steps.tryIn"));
  if (!app.answer) return [head, h("p", {}, t("tryIn.none"))];
  const add = button(t(tryIns.length ? "tryIn.another" : "tryIn.add"), () => app.addTryIn(), { class: tryIns.length ? null : "main" });
  const one = tryIns[app.tryInAt()];
  return [head, inventedMark(app), h("p", { class: "soft" }, t("tryIn.help")), !app.answer.plans && h("p", {}, t("tryIn.noPlan")),
    h("div", { class: "row" }, tryIns.map((_, i) => button(t("tryIn.nth", { n: i + 1 }), () => app.showTryIn(i), { "aria-pressed": String(i === app.tryInAt()) })), add),
    one && h("div", { class: "two" }, tryInPlace(app, one), h("div", {}, tryInFacts(app, one), comparisonPart(app)))];
}

const changeTryIn = (app, more) => app.doc.change((v) => { Object.assign(v.tryIns[app.tryInAt()], more); });

// Where it is read: a click in its photo, or a typed reading.
function tryInPlace(app, one) {
  const set = (more) => changeTryIn(app, more);
  const parts = [choice(t("tryIn.how"), ["photo", "colour"].map((way) => [way, t("tryIn.by." + way)]), one.kind, (kind) => set({ kind }))];
  if (one.kind === "colour") return h("div", {}, parts, textField(t("tryIn.colour"), one.colour, (colour) => set({ colour })));
  const photo = app.photos.get(one.photo);
  if (!photo) return h("div", {}, parts, dropPlace(t("tryIn.photo"), t("choosePhoto"), PHOTOS, (files) => app.openTryIn(files), t("takePhoto")));
  const shapes = app.compared && app.compared.outline.length ? [{ points: app.compared.outline, kind: "tooth" }] : [];
  const point = ([x, y]) => set({ point: [Math.round(x), Math.round(y)] });
  const view = new PhotoView({ picture: photo, shapes, tool: "point", memory: photo.tryInMemory, label: t("tryIn.point"), onPoint: point });
  const typedPoint = textField(t("tryIn.at"), (one.point || []).join(" "), (text) => {
    const at = text.trim().split(/[;\s]+/).map(typed);
    if (at.length === 2 && at.every(Number.isFinite)) point(at);
  });
  return h("div", {}, parts, view.element, h("p", { class: "soft" }, t("tryIn.point")), typedPoint,
    h("div", { class: "row" }, button(t("otherPhoto"), () => app.choose(PHOTOS, (files) => app.openTryIn(files)))));
}

function tryInFacts(app, one) {
  const set = (key) => (got) => changeTryIn(app, { [key]: got });
  return h("section", {}, textField(t("date"), one.date, set("date")),
    selectField(t("tryIn.stage"), one.stage, ["try_in", "finished"].map((stage) => [stage, t("tryIn.stages." + stage)]), set("stage")),
    checkField(t("tryIn.cured"), one.cured, set("cured")), checkField(t("tryIn.wet"), one.wet, set("wet")),
    one.kind === "photo" && checkField(t("rendering"), one.rendering, set("rendering")),
    h("p", { class: "soft" }, t("tryIn.placed", { layers: one.layers.length ? layerNames(one) : t("tryIn.placedNone") })),
    button(t("tryIn.remove"), () => app.removeTryIn()));
}

function comparisonPart(app) {
  const found = app.compared;
  if (!found) return null;
  const row = (name, one) => [name, one.inside ? number(one.de00, 1) : "–", `${number(one.low, 1)} – ${number(one.high, 1)}`, one.words];
  const colours = [[found.target.hex, t("tryIn.target")], [found.seen.hex, t("tryIn.seen")]];
  if (found.prediction) colours.push([found.prediction.hex, t("tryIn.prediction")]);
  return h("section", { class: "result" }, swatches(colours, "large"), h("p", { class: "soft" }, colours.map(([, name]) => name).join(" | ")),
    h("p", { role: "status" }, h("strong", {}, found.verdict)), found.cautions.map(warn),
    found.word && found.word !== "sure" && warn(t("confidence." + found.word)),
    table([[t("tryIn.beside")], [t("difference"), "number"], [t("interval"), "number"], [t("tryIn.now")]],
      [row(t("tryIn.target"), found.target), ...(found.prediction ? [row(t("tryIn.prediction"), found.prediction)] : [])]),
    h("p", { class: "soft" }, t(found.seen.sd ? "tryIn.intervalHelp" : "tryIn.unknown"), " ", t("tryIn.kept"), " ", t("de00Means")));
}
