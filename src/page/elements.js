// Small helpers that build the page's elements. Text never becomes markup.
const SVG = ["svg", "path", "rect", "text", "g", "line", "title"];
function h(tag, attributes = {}, ...children) {
  const element = SVG.includes(tag) ? document.createElementNS("http://www.w3.org/2000/svg", tag) : document.createElement(tag);
  for (const [key, value] of Object.entries(attributes)) {
    if (value === null || value === undefined || value === false) continue;
    if (key.startsWith("on")) element.addEventListener(key.slice(2), value);
    else if (key === "style") Object.assign(element.style, value);
    else if (["value", "checked", "disabled"].includes(key)) element[key] = value;
    else element.setAttribute(key, value === true ? "" : value);
  }
  element.append(...children.flat(9).filter((c) => c !== null && c !== undefined && c !== false && c !== ""));
  return element;
}

const button = (text, onclick, more = {}) => h("button", { type: "button", onclick, ...more }, text);
const field = (name, control) => h("label", { class: "field" }, h("span", {}, name), control);
const warn = (text) => h("p", { class: "warn" }, text);
const list = (texts) => h("ul", {}, texts.map((text) => h("li", {}, text)));

// A field for a number in a range; anything else is refused in place.
function numberField(name, value, low, high, onValue) {
  const written = (v) => (Number.isInteger(v) ? String(v) : number(v, 1));
  const input = h("input", {
    inputmode: "decimal", value: written(value),
    onchange: () => {
      const got = typed(input.value);
      const good = got >= low && got <= high;
      input.setCustomValidity(good ? "" : `${number(low, 1)} – ${number(high, 1)}`);
      input.reportValidity();
      if (!good) return;
      input.value = written(got);
      onValue(got);
    },
  });
  return field(name, input);
}

function checkField(name, checked, onValue) {
  const input = h("input", { type: "checkbox", checked, onchange: () => onValue(input.checked) });
  return h("label", { class: "check" }, input, h("span", {}, name));
}

function textField(name, value, onValue) {
  const input = h("input", { type: "text", value, maxlength: 200, onchange: () => onValue(input.value) });
  return field(name, input);
}

function selectField(name, value, options, onValue) {
  const select = h("select", { onchange: () => onValue(select.value) }, options.map(([key, text]) => h("option", { value: key, selected: key === value }, text)));
  return field(name, select);
}

// One of several ways, as a row of buttons of which one is pressed.
const choice = (name, ways, now, onWay) => h("div", { class: "row", role: "group", "aria-label": name },
  ways.map(([way, text]) => button(text, () => onWay(way), { "aria-pressed": String(way === now) })));

// A place to drop files on, with a button that does the same.
function dropPlace(text, choose, accept, onFiles, capture = "") {
  const input = h("input", { type: "file", accept, hidden: true, multiple: true, onchange: () => { onFiles([...input.files]); input.value = ""; } });
  const camera = capture && h("input", { type: "file", accept: "image/*", capture: "environment", hidden: true, onchange: () => onFiles([...camera.files]) });
  const place = h("div", {
    class: "drop",
    ondragover: (event) => { event.preventDefault(); place.classList.add("over"); },
    ondragleave: () => place.classList.remove("over"),
    ondrop: (event) => { event.preventDefault(); event.stopPropagation(); place.classList.remove("over"); onFiles([...event.dataTransfer.files]); },
  }, h("p", {}, text), h("div", { class: "row centre" },
    button(choose, () => input.click(), { class: "main" }), capture && button(capture, () => camera.click())), input, camera);
  return place;
}

const swatch = ([hex, name]) => h("i", { style: { background: hex }, title: name, role: "img", "aria-label": `${name} ${hex}` });
const swatches = (colours, size = "") => h("span", { class: "swatches " + size }, colours.map(swatch));

function table(heads, rows) {
  return h("div", { class: "scroll", tabindex: 0 }, h("table", {},
    heads && h("thead", {}, h("tr", {}, heads.map(([text, kind]) => (text ? h("th", { class: kind || null, scope: "col" }, text) : h("td"))))),
    h("tbody", {}, rows.map((row) => h("tr", {}, row.map((cell, i) => h("td", { class: (heads && heads[i][1]) || null }, cell)))))));
}

function download(name, bytes, type) {
  const url = URL.createObjectURL(new Blob([bytes], { type }));
  const link = h("a", { href: url, download: name });
  document.body.append(link);
  link.click();
  link.remove();
  setTimeout(() => URL.revokeObjectURL(url), 60000);
}

// A sheet of the library inside the page. `srcdoc` is of the page's own origin, so that it can be
// printed from here.
const sheetFrame = (name, html) => h("iframe", { class: "sheet", title: name, srcdoc: html });
