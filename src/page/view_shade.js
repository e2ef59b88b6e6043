// Step "Shade": the person's own tabs in order, tooth by tooth and zone by zone.
function shadeView(app) {
  const { value } = app.doc;
  const parts = [h("h2", {}, t("steps.shade")), inventedMark(app), h("div", { class: "row" },
    button(t("tabsFile"), () => app.choose(".json")), !value.tabs && button(t("tabsDemo"), () => app.openDemo("tabs")),
    value.tabs && h("strong", {}, value.tabs.name), value.tabs && button(t("exportFile"), () => download(value.tabs.name + ".json", value.tabs.text, "application/json")))];
  if (!value.tabs) return parts.concat(h("p", {}, t("tabsNone")));
  const teeth = (app.answer && app.answer.teeth) || [];
  if (!teeth.length) return parts.concat(h("p", {}, t("rankNone")));
  for (const tooth of teeth) {
    for (const reading of tooth.readings) {
      if (reading.match) parts.push(h("section", {}, h("h3", {}, `${tooth.name}, ${reading.name}`), ranking(app, tooth, reading)));
    }
  }
  return parts.concat(h("p", { class: "soft" }, t("de00Means")));
}

const chanceWord = (chance) => t("confidenceWords." + (chance >= 0.8 ? "high" : chance >= 0.5 ? "fair" : "low"));

function ranking(app, tooth, reading) {
  const key = tooth.place + reading.name;
  const { ranked, ties, between } = reading.match;
  const tab = ranked.find((m) => m.tab === app.tabsCompared[key]) || ranked[0];
  return h("div", { class: "two ranking" },
    h("div", {},
      swatches([[reading.hex, t("toothSwatch")], [tab.hex, tab.tab]], "large"),
      h("p", {}, h("strong", {}, t("nearest", { tab: ranked[0].tab })), " ", tab !== ranked[0] && `(${tab.tab}) `, t("toothIs", { words: tab.words })),
      h("p", {}, t("sure", { word: chanceWord(ranked[0].chance_best) }), between && " " + t("between", { words: between })),
      reading.withheld && warn(reading.withheld),
      ties.length > 1 && h("p", {}, t("ties", { tabs: ties.join(", ") }))),
    table([[t("tab")], [t("difference"), "number"], [t("interval"), "number"], [t("chance"), "number"], [t("grade")]],
      ranked.slice(0, 6).map((m) => [
        button(m.tab, () => { app.tabsCompared[key] = m.tab; app.show(); }, { "aria-pressed": String(m.tab === tab.tab), "aria-label": `${m.tab}: ${tooth.name}, ${reading.name}` }),
        m.inside ? number(m.de00, 1) : "–", `${number(m.low, 1)} – ${number(m.high, 1)}`, `${number(100 * m.chance_best, 0)} %`, reading.withheld ? "–" : m.grade])));
}

function inventedMark(app) {
  return app.invented ? h("p", { class: "invented" }, h("strong", {}, t("invented")), " ", t("inventedSays")) : null;
}
