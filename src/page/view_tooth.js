// Step "Tooth": photo, card, outlines, the colours of the zones.
const PHOTOS = "image/*,.tif,.tiff";

function toothView(app) {
  const { value } = app.doc;
  const photo = app.photos.get(value.photo);
  const head = h("h2", {}, t("steps.tooth"));
  if (!photo) {
    return [head, dropPlace(t("dropPhoto"), t("choosePhoto"), PHOTOS, (files) => app.open(files), t("takePhoto")),
      h("div", { class: "row centre" }, app.demo.photo && button(t("tryDemo"), () => app.tryDemo())), cardPart(app)];
  }
  return [head, inventedMark(app), h("div", { class: "two" },
    h("div", {}, toolRow(app), photoPart(app, photo), h("p", { class: "soft" }, t("toolSays." + app.tool)), foundPart(app)),
    h("div", {}, cardPart(app), teethPart(app), photoOptions(app)))];
}

function toolRow(app) {
  const tools = ["point", "rim", "box"].concat(app.doc.value.tabs ? ["tab"] : []);
  const { members = [] } = app.doc.value.tabs || {};
  return [choice(t("tool"), tools.map((tool) => [tool, t("tools." + tool)]), app.tool, (tool) => { app.tool = tool; app.show(); }),
    app.tool === "tab" && selectField(t("whichTab"), app.tabToBox, members.map((m) => [m.name, m.name]), (name) => { app.tabToBox = name; })];
}

function photoPart(app, photo) {
  const boxed = (box) => app.doc.change((v) => {
    if (app.tool === "tab") {
      const tab = app.tabToBox || v.tabs.members[0].name;
      v.tabBoxes = [...v.tabBoxes.filter((one) => one.tab !== tab), { tab, box }];
    } else v.teeth.push({ box });
  });
  return new PhotoView({
    picture: photo, shapes: toothShapes(app), tool: app.tool, memory: photo.memory, label: t("toolSays." + app.tool),
    onPoint: (at) => app.pointAt(at), onBox: boxed,
    onRim: (points) => app.doc.change((v) => {
      const tooth = v.teeth[app.chosen];
      if (tooth) v.teeth[app.chosen] = { number: tooth.number, rim: points.map((p) => p.map((c) => Math.round(c * 10) / 10)) };
    }),
  }).element;
}

// Whether a point lies within a polygon.
function within([x, y], points) {
  let inside = false;
  for (let i = 0, j = points.length - 1; i < points.length; j = i++) {
    const [[a, b], [c, d]] = [points[i], points[j]];
    if ((b > y) !== (d > y) && x < (c - a) * (y - b) / (d - b) + a) inside = !inside;
  }
  return inside;
}

// Teeth that were found and are not chosen yet.
function teethLeft(app) {
  const { teeth = [] } = app.answer || {};
  return app.found.filter((f) => !teeth.some((tooth) => within(f.point, tooth.outline)));
}

function toothShapes(app) {
  const { teeth = [] } = app.answer || {};
  const shapes = teethLeft(app).map((f) => ({ points: f.outline, kind: "found" }));
  const card = (app.answer && app.answer.card) || app.card;
  if (card && card.on_card) shapes.push({ points: card.corners, kind: "card" });
  for (const { tab, box: [x, y, w, d] } of app.doc.value.tabBoxes) shapes.push({ points: [[x, y], [x + w, y], [x + w, y + d], [x, y + d]], kind: "box", name: tab });
  for (const tooth of teeth) {
    tooth.zones.forEach((zone) => zone.outline.length && shapes.push({ points: zone.outline, kind: "zone" }));
    // The view moves the points while a rim is dragged; the answer stays as it was.
    if (tooth.outline.length) shapes.push({ points: structuredClone(tooth.outline), kind: tooth.place === app.chosen ? "chosen" : "tooth", name: tooth.name });
  }
  return shapes;
}

function foundPart(app) {
  const left = teethLeft(app);
  return left.length > 0 && h("div", { class: "row" }, h("span", {}, t("teethFound", { n: left.length })),
    left.map((f) => button(t("toothN", { n: app.found.indexOf(f) + 1 }), () => app.pointAt(f.point))));
}

function cardPart(app) {
  const { value } = app.doc;
  const card = (app.answer && app.answer.card) || app.card;
  const quality = card && t("cardWord." + card.word);
  const named = value.card ? (card ? t("cardIs", { name: value.card.name, quality }) : t("cardOnly", { name: value.card.name }))
    : card ? t("tabsIs", { quality }) : t("cardNone");
  return h("section", {}, h("h3", {}, t("card")), h("p", {}, named),
    card && h("p", { class: "soft" }, t("cardError", { median: number(card.median, 1), max: number(card.max, 1) })),
    h("div", { class: "row" }, button(t("cardFile"), () => app.choose(".json")), !value.tabs && !value.card && button(t("tabsFile"), () => app.choose(".json"))),
    value.tabBoxes.map((one) => h("div", { class: "row" }, h("span", {}, t("tabBox", { tab: one.tab })),
      button(t("toothRemove"), () => app.doc.change((v) => { v.tabBoxes = v.tabBoxes.filter((b) => b.tab !== one.tab); }), { "aria-label": `${t("toothRemove")} ${one.tab}` }))));
}

function colourCells(reading) {
  return [reading.lab.map((v) => signed(v, 1)).join(" · "),
    reading.sd ? "± " + reading.sd.map((v) => number(v, 1)).join(" · ") : t("unknownSd")];
}

function teethPart(app) {
  const { teeth = [] } = app.answer || {};
  return h("section", {}, h("h3", {}, t("teeth")), teeth.length === 0 && (app.doc.value.teeth.length ? unreadTeeth(app) : h("p", {}, t("teethNone"))),
    teeth.map((tooth) => h("section", { class: "tooth" },
      h("div", { class: "row" },
        button(tooth.name, () => { app.chosen = tooth.place; app.tool = "rim"; app.show(); }, { "aria-pressed": String(app.chosen === tooth.place) }),
        tooth.confidence !== null && h("span", { class: tooth.word === "sure" ? "soft" : "bad" }, t("confidence." + tooth.word)),
        toothNumber(app, tooth),
        button(t("toothRemove"), () => app.doc.change((v) => v.teeth.splice(tooth.place, 1)), { "aria-label": `${t("toothRemove")} ${tooth.name}` })),
      table([[t("zone")], [""], [t("colour"), "number"], [t("spread"), "number soft"]],
        tooth.readings.map((reading) => [reading.name, swatches([[reading.hex, reading.name]]), ...colourCells(reading)])))),
    app.answer && app.answer.warnings.filter((text) => !(app.answer.plan_warnings || []).includes(text)).map(warn),
    notesPart(app.answer ? app.answer.notes : app.notes));
}

// Teeth that the core refused: its sentence stands above, and here is the way back.
function unreadTeeth(app) {
  return app.doc.value.teeth.map((_, i) => h("div", { class: "row" }, h("span", {}, t("toothN", { n: i + 1 })),
    button(t("toothRemove"), () => app.doc.change((v) => v.teeth.splice(i, 1)), { "aria-label": `${t("toothRemove")} ${i + 1}` })));
}

const notesPart = (notes) => notes.length > 0 && h("details", {}, h("summary", {}, `${t("notes")} (${notes.length})`), list(notes));

function toothNumber(app, tooth) {
  const given = app.doc.value.teeth[tooth.place] || {};
  const input = h("input", {
    inputmode: "numeric", value: given.number || "", class: "short",
    onchange: () => app.doc.change((v) => { const n = typed(input.value); if (v.teeth[tooth.place]) v.teeth[tooth.place].number = Number.isInteger(n) ? n : null; }),
  });
  return h("label", { class: "soft" }, t("toothNumber") + " ", input);
}

function photoOptions(app) {
  const { value } = app.doc;
  return h("details", {}, h("summary", {}, t("details")),
    ["posterior", "rendering"].map((key) => checkField(t(key), value[key], (on) => app.doc.change((v) => { v[key] = on; }))),
    h("div", { class: "row" }, button(t("otherPhoto"), () => app.choose(PHOTOS)), button(t("find"), () => app.findTeeth())));
}
