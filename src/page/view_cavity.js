// Step "Cavity": the floor, what is in the drawer, the plan as a section through the cavity.
function cavityView(app) {
  const lacks = app.lacksForPlan();
  return [h("h2", {}, t("steps.cavity")), inventedMark(app), h("div", { class: "two" },
    h("div", {}, floorPart(app), drawerPart(app)),
    h("div", {}, cavityOptions(app),
      h("div", { class: "row" }, button(t("planMake"), () => app.doc.change((v) => { v.plan = true; }), { class: "main", disabled: lacks.length > 0 })),
      lacks.length > 0 && h("p", { class: "soft" }, t("planNeeds", { what: lacks.map((what) => t("need." + what)).join(", ") })),
      planPart(app)))];
}

function floorPart(app) {
  const { value } = app.doc;
  const { floor } = value;
  const set = (more) => app.doc.change((v) => { Object.assign(v.floor, more); });
  const parts = [h("h3", {}, t("floor")), choice(t("floorKind"), ["photo", "colour", "curve"].map((way) => [way, t("by." + way)]), floor.kind, (kind) => set({ kind }))];
  if (floor.kind === "colour") return parts.concat(textField(t("floorColour"), floor.colour, (colour) => set({ colour })));
  if (floor.kind === "curve") return parts.concat(h("div", { class: "row" }, button(t("floorCurve"), () => app.choose(".csv", (files) => app.openCurve(files))), floor.text && h("span", {}, floor.name)));
  const photo = app.photos.get(floor.photo);
  if (!photo) return parts.concat(dropPlace(t("floorPhoto"), t("choosePhoto"), PHOTOS, (files) => app.openFloor(files), t("takePhoto")),
    app.photos.get(value.photo) && h("div", { class: "row" }, button(t("steps.tooth") + ": " + t("otherPhoto"), () => set({ photo: value.photo, box: null }))));
  const shapes = [];
  if (floor.box) {
    const [x, y, w, d] = floor.box;
    shapes.push({ points: [[x, y], [x + w, y], [x + w, y + d], [x, y + d]], kind: "box" });
  }
  const view = new PhotoView({ picture: photo, shapes, tool: "floor", memory: photo.floorMemory, label: t("floorHelp"), onBox: (box) => set({ box }) });
  const typedBox = textField(t("floorBox"), (floor.box || []).join(" "), (text) => {
    const box = text.trim().split(/[;\s]+/).map(typed);
    if (box.length === 4 && box.every(Number.isFinite)) set({ box });
  });
  return parts.concat(view.element, h("p", { class: "soft" }, t("floorHelp")), typedBox, h("div", { class: "row" }, button(t("otherPhoto"), () => app.choose(PHOTOS, (files) => app.openFloor(files)))));
}

function drawerPart(app) {
  const { value } = app.doc;
  return h("section", {}, h("h3", {}, t("pastes")), h("div", { class: "row" }, button(t("pastesFile"), () => app.choose(".json")), !value.pastes && button(t("pastesDemo"), () => app.openDemo("pastes")),
    value.pastes && [h("strong", {}, value.pastes.name), button(t("exportFile"), () => download(value.pastes.name + ".json", value.pastes.text, "application/json"))]),
    value.pastes && h("div", { class: "drawer" }, value.pastes.members.map((paste) => checkField(`${paste.name} (${paste.role})`, !value.out.includes(paste.name), (on) =>
      app.doc.change((v) => { v.out = on ? v.out.filter((n) => n !== paste.name) : [...v.out, paste.name]; })))));
}

function cavityOptions(app) {
  const { value } = app.doc;
  const set = (key) => (got) => app.doc.change((v) => { v[key] = got; });
  const { teeth = [] } = app.answer || {};
  const zones = teeth.length ? teeth[0].readings.map((r) => [r.zone, r.name]) : [];
  return h("section", {}, h("h3", {}, t("cavity")),
    numberField(t("depth"), value.depth, 0.3, 20, set("depth")),
    numberField(t("lamp"), value.lamp, 100, 5000, set("lamp")),
    selectField(t("layers"), String(value.layers), ["1", "2", "3"].map((n) => [n, n]), (n) => set("layers")(Number(n))),
    h("details", {}, h("summary", {}, t("more")),
      selectField(t("planZone"), value.zone, [["", t("planZoneAuto")], ...zones], set("zone")),
      checkField(t("order"), value.anyOrder, set("anyOrder")), checkField(t("wall"), value.wall, set("wall")), checkField(t("lightAlso"), value.lights, set("lights"))));
}

const layerNames = (plan) => plan.layers.map((l) => t("layerMm", { mm: number(l.thickness_mm, 1), paste: l.paste })).join(" + ");

// The plan that is shown: as chosen, with what was moved by hand.
function shownPlan(app) {
  const planned = app.planned();
  if (!planned) return null;
  return app.doc.value.moved && app.prediction ? { ...app.prediction, index: planned.index, moved: true } : planned;
}

function planPart(app) {
  const plan = shownPlan(app);
  if (!plan) return app.answer && app.doc.value.plan && app.answer.warnings.map(warn);
  const values = { value: number(plan.de00_expected, 1), p95: number(plan.de00_p95, 1) };
  return h("section", {}, h("h3", {}, t("plan")),
    h("div", { class: "row" }, sectionDrawing(app, plan), swatches([[app.answer.target_hex, t("toothSwatch")], [plan.hex, t("plan")]], "large")),
    h("p", { role: "status" }, plan.moved ? t("moved", values) : t("expected", values)),
    h("p", {}, t("whatIf")),
    h("div", { class: "row" },
      plan.layers.length > 1 && plan.layers.map((layer, i) => [
        button(t("thicker", { layer: layer.paste }), () => app.move(i, 0.1)), button(t("thinner", { layer: layer.paste }), () => app.move(i, -0.1))]),
      button(t("deeper"), () => app.more(0.3)), onePasteButton(app, plan),
      plan.moved && button(t("movedBack"), () => app.doc.change((v) => { v.moved = null; }))),
    h("p", {}, plan.moved ? null : app.answer.why), app.answer.warnings.map(warn), notesPart(app.answer.plan_warnings.filter((text) => !app.answer.warnings.includes(text))), otherPlans(app, plan));
}

function onePasteButton(app, plan) {
  const one = app.answer.plans.find((p) => p.layers.length === 1);
  return one && one.index !== plan.index && button(t("onePaste"), () => app.take(one.index));
}

function otherPlans(app, plan) {
  const row = (p) => [swatches([[app.answer.target_hex, t("toothSwatch")], [p.hex, layerNames(p)]]), layerNames(p), number(p.de00_expected, 1),
    p.index === plan.index && !plan.moved ? t("taken") : button(t("take"), () => app.take(p.index), { "aria-label": `${t("take")}: ${layerNames(p)}` })];
  const heads = [[""], [t("layersWord")], [t("difference"), "number"], [""]];
  const { plans } = app.answer;
  const good = plans.filter((p) => p.equally_good);
  const rest = plans.filter((p) => !p.equally_good);
  return [h("h3", {}, t("others")), table(heads, good.map(row)),
    rest.length > 0 && h("details", {}, h("summary", {}, `${t("others2")} (${rest.length})`), table(heads, rest.map(row)))];
}

// A section through the cavity: layers from the floor up in the colour that shows over what is below
// them. Dragging the line between two layers moves it.
function sectionDrawing(app, plan) {
  const [wide, high, top, floorAt] = [340, 250, 34, 205];
  const depth = plan.layers.reduce((sum, layer) => sum + layer.thickness_mm, 0);
  const y = (mm) => floorAt - (floorAt - top) * mm / depth;
  const x = (mm, side) => 170 + side * (80 + 22 * mm / depth);
  const svg = h("svg", { class: "section", viewBox: `0 0 ${wide} ${high}`, role: "img", "aria-label": t("sectionOf", { layers: layerNames(plan) }) });
  svg.append(h("path", { d: `M20 ${top} H${x(depth, -1)} L${x(0, -1)} ${floorAt} H${x(0, 1)} L${x(depth, 1)} ${top} H320 V240 H20 Z`, fill: app.answer.target_hex, stroke: "#444" }));
  svg.append(h("path", { d: `M${x(0, -1)} ${floorAt} H${x(0, 1)} V${floorAt + 14} H${x(0, -1)} Z`, fill: app.answer.floor_hex, stroke: "#444" }));
  let below = 0;
  const lines = [];
  plan.layers.forEach((layer, i) => {
    const above = below + layer.thickness_mm;
    svg.append(h("path", { d: `M${x(below, -1)} ${y(below)} H${x(below, 1)} L${x(above, 1)} ${y(above)} H${x(above, -1)} Z`, fill: layer.hex, stroke: "#222" }));
    svg.append(h("text", { x: 170, y: (y(below) + y(above)) / 2 + 5, "text-anchor": "middle" }, t("layerMm", { mm: number(layer.thickness_mm, 1), paste: layer.paste.length > 18 ? layer.paste.slice(0, 17) + "…" : layer.paste })));
    if (i + 1 < plan.layers.length) lines.push(h("rect", { class: "handle", x: x(above, -1), y: y(above) - 10, width: x(above, 1) - x(above, -1), height: 20, fill: "transparent", onpointerdown: (event) => hold(event, i) }));
    below = above;
  });
  svg.append(...lines, h("text", { x: 26, y: floorAt + 26 }, t("floorName")), h("text", { x: 26, y: top - 8 }, t("surfaceName")));
  let held = null;
  const hold = (event, layer) => { event.target.setPointerCapture(event.pointerId); held = { layer, from: event.clientY, done: 0 }; };
  svg.addEventListener("pointermove", (event) => {
    if (!held) return;
    const mm = (held.from - event.clientY) * high / svg.getBoundingClientRect().height * depth / (floorAt - top);
    held.now = Math.round(mm * 10) / 10;
  });
  svg.addEventListener("pointerup", () => { if (held && held.now) app.move(held.layer, held.now); held = null; });
  return svg;
}
