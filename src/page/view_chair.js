// Step "Chair": the steps in order, to be read at arm's length.
function chairView(app) {
  const plan = shownPlan(app);
  const head = h("h2", {}, t("steps.chair"));
  if (!plan) return [head, h("p", {}, t("chairNone"))];
  const { warnings, plan_warnings, cautions } = app.answer;
  const first = warnings[0] || cautions[1];
  const rest = new Set([...warnings, ...plan_warnings, ...cautions]);
  rest.delete(first);
  return [head, inventedMark(app), warn(first), stepList(app, plan),
    h("details", { open: true }, h("summary", {}, t("behind")), list([...rest])), chairCard(app, plan)];
}

// What the card and the case's file keep beside the plan.
function chairCard(app, plan) {
  const { value } = app.doc;
  const set = (key) => (text) => app.doc.change((v) => { v[key] = text; });
  const lotOf = (paste) => (value.lots.find((one) => one.paste === paste) || { lot: "" }).lot;
  const setLot = (paste) => (lot) => app.doc.change((v) => {
    v.lots = v.lots.filter((one) => one.paste !== paste);
    if (lot) v.lots.push({ paste, lot });
  });
  const { number: toothNumber } = value.teeth[0] || {};
  return h("section", {}, h("h3", {}, t("chairCard")),
    textField(t("label"), value.label, set("label")),
    textField(t("date"), value.date, set("date")),
    textField(t("operator"), value.operator, set("operator")), h("p", { class: "soft" }, t("operatorHelp")),
    [...new Set(plan.layers.map((layer) => layer.paste))].map((paste) => textField(t("lotOf", { paste }), lotOf(paste), setLot(paste))),
    toothNumber ? h("p", {}, t("toothIsNumber", { number: toothNumber })) : h("div", { class: "row" }, h("span", {}, t("toothNoNumber")), button(t("toothGive"), () => app.go("tooth"))));
}

function stepList(app, plan) {
  const { done } = app.doc.value;
  return h("ol", { class: "steps" }, plan.increments.map((step, i) => {
    const how = [t("portion." + step.portion, { width: plan.wall ? number(plan.wall.width_mm, 1) : "" }), step.contour && t("contour")].filter(Boolean).join("; ");
    return h("li", { class: done.includes(i) ? "done" : "" },
      h("input", { type: "checkbox", checked: done.includes(i), "aria-label": t("stepDone", { n: i + 1 }), onchange: (event) => app.doc.change((v) => { v.done = event.target.checked ? [...v.done, i] : v.done.filter((n) => n !== i); }) }),
      h("span", { class: "what" }, `${i + 1}. ` + t("layerMm", { mm: number(step.thickness_mm, 1), paste: step.paste }),
        h("small", {}, step.exposure_s !== null ? t("cure", { seconds: Math.ceil(step.exposure_s) }) : t("dose", { dose: number(step.exposure_j_cm2, 0) }))),
      step.exposure_s !== null && clock(app, i, Math.ceil(step.exposure_s)),
      how && h("span", { class: "how" }, how));
  }));
}

// The page is drawn anew while a clock runs: its end is kept apart.
function clock(app, step, seconds) {
  const shown = h("span", { class: "clock", role: "timer" });
  const start = button("", () => { app.clocks[step] = app.clocks[step] > Date.now() ? 0 : Date.now() + 1000 * seconds; tick(); });
  let timer = null;
  const tick = () => {
    const end = app.clocks[step] || 0;
    const left = Math.max(0, Math.ceil((end - Date.now()) / 1000));
    shown.textContent = left ? String(left) : end ? t("timerDone") : String(seconds);
    start.textContent = left ? t("timerStop") : t("timerStart");
    start.setAttribute("aria-label", `${start.textContent} ${step + 1}`);
    clearTimeout(timer);
    if (left && (!shown.parentElement || shown.isConnected || !timer)) timer = setTimeout(tick, 200);
  };
  tick();
  return h("span", { class: "row time" }, shown, start);
}
