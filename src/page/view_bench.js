// Step "Bench": the technician's tables become tab sets and pastes.
const TABLES = ".csv,.txt,.cxf,.xml";

function benchView(app) {
  const b = (key, values) => t("bench." + key, values);
  const { bench } = app;
  const { tabs } = app.doc.value;
  return [h("h2", {}, t("steps.bench")), h("div", { class: "three" },
    h("section", {}, h("h3", {}, b("tabs")), h("p", { class: "soft" }, b("tabsHelp")),
      textField(b("name"), bench.tabsName, (text) => { bench.tabsName = text; }),
      dropPlace(b("tabsDrop"), b("choose"), TABLES, ([file]) => app.buildTabs(file))),
    h("section", {}, h("h3", {}, b("audit")), h("p", { class: "soft" }, b("auditHelp")),
      tabs ? h("div", { class: "row" }, button(b("auditRun", { name: tabs.name }), () => app.auditTabs()), button(b("earlier"), () => app.choose(".json", ([file]) => app.auditTabs(file))))
        : h("div", { class: "row" }, button(t("tabsFile"), () => app.choose(".json")))),
    h("section", {}, h("h3", {}, b("fit")), h("p", { class: "soft" }, b("fitHelp")),
      textField(b("name"), bench.name, (text) => { bench.name = text; }),
      selectField(b("role"), bench.role, app.roles.map((role) => [role, role]), (role) => { bench.role = role; }),
      numberField(b("index"), bench.index, 1.3, 1.8, (n) => { bench.index = n; }),
      dropPlace(b("fitDrop"), b("choose"), ".csv,.txt", ([file]) => app.fitPaste(file)),
      h("div", { class: "row" }, button(b("table"), () => app.tableToFill())))),
    bench.wrong && wrongPart(bench.wrong), bench.result && resultPart(app, bench.result)];
}

// What the library says is wrong, and the cells that it names.
function wrongPart({ file, text, sentence }) {
  const rows = text.split(/\r?\n/);
  const at = [...sentence.matchAll(/line (\d+)(?:, column ("?)([^",:;]+)\2)?/g)].map((m) => [Number(m[1]), m[3]]);
  const split = (row) => row.split(/[;,\t]/);
  const heads = split(rows.find((row) => row && !row.startsWith("#")) || "");
  const lines = [...new Set(at.map(([line]) => line))].filter((line) => rows[line - 1] !== undefined).slice(0, 50);
  return h("section", { class: "result" }, h("h3", {}, t("bench.wrong", { file })), sentence.split(/; (?=line \d)/).map(warn),
    lines.length > 0 && h("div", { class: "scroll", tabindex: 0 }, h("table", {},
      h("thead", {}, h("tr", {}, h("th", { scope: "col" }, t("bench.line")), heads.map((head) => h("th", { scope: "col" }, head)))),
      h("tbody", {}, lines.map((line) => h("tr", {}, h("th", { scope: "row" }, line), split(rows[line - 1]).map((cell, i) =>
        h("td", { class: at.some(([l, column]) => l === line && (!column || heads[i].trim() === column.trim())) ? "wrong" : null }, cell))))))));
}

function resultPart(app, result) {
  const b = (key, values) => t("bench." + key, values);
  const { rows = [], aside = [] } = result;
  return h("section", { class: "result" }, h("h3", {}, b("result")),
    result.document && h("div", { class: "row" }, button(b("download", { file: result.file }), () => download(result.file, result.document, "application/json"), { class: "main" }),
      button(b("use"), () => app.openDocument(result.file, result.document))),
    result.notes.map(warn),
    rows.length > 0 && table([[t("tab")], [""], [t("colour"), "number"], [t("spread"), "number"], [b("used"), "number"], [b("mcdm"), "number"], [""]],
      rows.map((r) => [r.tab, swatches([[r.hex, r.tab]]), r.lab.map((v) => signed(v, 2)).join(" · "), r.sd.map((v) => number(v, 2)).join(" · "), `${r.used} / ${r.count}`, r.mcdm === null ? "" : number(r.mcdm, 2), r.worse ? b("worse") : ""])),
    aside.length > 0 && [h("h3", {}, b("aside")), table([[b("line"), "number"], [t("tab")], [t("difference"), "number"], [b("why")]], aside.map((a) => [String(a.line), a.tab, number(a.de00, 2), a.reason]))],
    result.sheet && sheetFrame(b("result"), result.sheet));
}
