// Step "Record": the case as a file, the sheet, what the browser keeps.
function recordView(app) {
  const { value } = app.doc;
  const kept = Kept.read() !== null;
  return [h("h2", {}, t("steps.record")), inventedMark(app), h("div", { class: "two" },
    h("div", {},
      textField(t("label"), value.label, (label) => app.doc.change((v) => { v.label = label; })),
      h("div", { class: "row" }, button(t("save"), () => app.saveCase(), { class: "main", disabled: !value.teeth.length }), button(t("open"), () => app.choose(".zip"))),
      h("p", { class: "soft" }, t("caseHelp")),
      checkField(t("keep"), kept, (on) => app.keep(on)), h("p", { class: "soft" }, t("keepSays")),
      button(t("erase"), () => { Kept.erase(); app.say(t("erased")); app.show(); })),
    h("div", {},
      h("div", { class: "row" }, button(t("sheet"), () => app.makeSheet(), { class: "main", disabled: !app.answer }), app.sheet && button(t("print"), () => document.querySelector(".sheet").contentWindow.print())),
      h("p", { class: "soft" }, app.answer ? t("sheetHelp") : t("sheetNone")),
      app.sheet && sheetFrame(t("sheet"), app.sheet)))];
}
