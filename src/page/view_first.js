// Step "First day": what to print, measure and photograph, and what the photo just taken says.
function firstView(app) {
  const { first } = TEXTS[LANGUAGE];
  const seen = app.answer ? [...app.answer.warnings, ...app.answer.notes] : app.card ? app.notes : null;
  return [h("h2", {}, first.title), h("p", {}, first.intro),
    h("ol", { class: "reading" }, first.list.map(([title, text], i) => h("li", {}, h("h3", {}, title), h("p", {}, text),
      i === 0 && button(first.cardPrint, () => app.cardToPrint()), i === 2 && button(t("bench.table"), () => app.tableToFill())))),
    h("h3", {}, first.live),
    seen === null ? h("p", {}, first.liveNone) : seen.length ? seen.map(warn) : h("p", {}, first.liveGood)];
}
