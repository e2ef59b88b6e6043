// Every text of the page, so that it can be translated: copy TEXTS.en, translate it, name it.
const TEXTS = {
  en: {
    skip: "Skip to the step", stepsName: "Steps", caseName: "Case",
    steps: { first: "First day", tooth: "Tooth", shade: "Shade", cavity: "Cavity", chair: "Chair", tryIn: "Try-in", record: "Record", bench: "Bench" },
    undo: "Undo", redo: "Redo", fresh: "New case",
    ready: "Ready. Nothing leaves this device.", starting: "Starting the measuring core…", working: "Working: {step}", busy: "Working…",
    foot: "mamelon {version}. Predictions are for cured paste over the floor you described: confirm them with a cured try-in. Not a diagnosis; the licensed dentist decides, under local rules.",
    freshAsk: "Close this case? What is not saved is lost.",
    twoTabs: "The case kept in this browser was changed in another window. Save this one as a file before you go on in both.",
    dropPhoto: "Drop the photo here: teeth with the card beside them", choosePhoto: "Choose a photo", takePhoto: "Take a photo", otherPhoto: "Another photo",
    tryDemo: "Try the invented example",
    card: "Reference card", cardNone: "No card loaded. Load the file that came with your card, or load your tabs and draw a box on each tab that stands in the photo.",
    cardFile: "Load the card's file", cardIs: "{name}: found, {quality}.", cardOnly: "{name} is loaded.", tabsIs: "Tabs in the frame stand for a card: {quality}.",
    cardWord: { good: "good", fair: "fair: colours may be visibly off", poor: "poor: take the photo again" },
    cardError: "A patch left out is predicted within ΔE00 {median} (median), {max} (largest).",
    teeth: "Teeth", teethFound: "{n} teeth found. Click the ones that count, or choose them here:", teethNone: "No tooth is chosen yet. Click one in the photo.", toothN: "Tooth {n}", toothRemove: "Remove", find: "Find the teeth",
    photoHelp: "Photo. Arrow keys move the cross, Enter does what a click does.", rimHelp: "Rim point {n} of {count}: arrow keys move it, comma and full stop choose another.",
    tool: "What a click does", tools: { point: "Point at a tooth", rim: "Drag the rim", box: "Box around a tooth", tab: "Box on a tab" },
    toolSays: { point: "Click a tooth.", rim: "Drag the rim where it is wrong; the colours follow.", box: "Draw a box around a tooth.", tab: "Choose the tab, then draw a box within it." },
    whichTab: "Tab", tabBox: "{tab} in the photo",
    posterior: "Premolar or molar", rendering: "Photo with the camera's own look (not linear)", details: "About the photo",
    zone: "Zone", colour: "L* · a* · b*", spread: "± sd", unknownSd: "unknown",
    confidence: { sure: "outline sure", look: "look at the outline", unsure: "outline unsure: drag its rim" },
    toothNumber: "Number (ISO 3950)", notes: "Notes",
    tabs: "Your tabs", tabsFile: "Load a tab set", tabsNone: "Load the file of your tab set. It is made once on the page Bench from your own readings.", tabsDemo: "Try invented tabs", exportFile: "Save a copy",
    rankNone: "Choose a tooth first.", tab: "Tab", difference: "ΔE00", interval: "95 % interval", chance: "best, chance", grade: "Grade",
    toothIs: "The tooth is {words}.", nearest: "Nearest tab: {tab}", toothSwatch: "tooth", ties: "Each of these may be the best: {tabs}. Let the eye decide.", sure: "Confidence that it is the nearest: {word}.",
    confidenceWords: { high: "high", fair: "fair", low: "low" }, between: "The colour lies {words}.",
    de00Means: "ΔE00 (CIEDE2000) says how different two colours look: 0.8 is just visible to half of observers, 1.8 acceptable to half (Paravina et al. 2015).",
    pastes: "Pastes in the drawer today", pastesFile: "Load your pastes", pastesDemo: "Try invented pastes",
    floor: "Prepared floor", floorKind: "How the floor is known", by: { photo: "by a photo", colour: "by its colour", curve: "by its spectrum" },
    floorPhoto: "Drop a photo of the prepared floor with the card", floorHelp: "Click the floor, or draw a box on it.", floorBox: "Box, pixels: left, top, width, height", floorColour: "L* a* b*, and standard deviations if known", floorCurve: "Load a table wavelength_nm,reflectance",
    cavity: "Cavity", depth: "Depth, mm", lamp: "Lamp, mW/cm²", layers: "Layers at most", more: "More", order: "Layers in any order", wall: "Contact wall first", planZone: "Planned for", planZoneAuto: "the middle (molar: occlusal)", lightAlso: "Count room light and white LED too",
    plan: "Plan", planMake: "Plan the layers", planNeeds: "A plan needs: {what}.", need: { tooth: "a chosen tooth", pastes: "pastes", floor: "the floor" },
    expected: "Expected difference ΔE00 {value}; 19 of 20 come below {p95}.", moved: "Moved by hand: expected ΔE00 {value}; 19 of 20 below {p95}.", movedBack: "Back to the plan",
    thicker: "{layer} +0.1 mm", thinner: "{layer} −0.1 mm", whatIf: "What if …", deeper: "0.3 mm more on top", onePaste: "only one paste",
    others: "Equally good plans", others2: "Further plans", take: "Take it", taken: "shown", layersWord: "Layers from the floor", layerMm: "{mm} mm {paste}",
    floorName: "floor", surfaceName: "surface", sectionOf: "Section through the cavity, from the floor up: {layers}",
    chairNone: "Make a plan on the page Cavity first.", cure: "cure {seconds} s", dose: "cure {dose} J/cm² (the lamp's power is not known)", timerStart: "Start", timerStop: "Stop", timerDone: "done", stepDone: "Step {n} done",
    portion: { level: "", first_wedge: "first wedge, against one wall", second_wedge: "second wedge, against the opposite wall", walls: "along the walls", core: "core", contact_wall: "contact wall, {width} mm wide" }, contour: "finish to contour before curing",
    behind: "Before you start",
    chairCard: "For the record", date: "Date", operator: "Operator", operatorHelp: "A code, such as initials, rather than a name.", lotOf: "Lot of {paste}", toothIsNumber: "Tooth {number}.", toothNoNumber: "The tooth has no number yet.", toothGive: "Give it on the page Tooth",
    tryIn: {
      none: "Choose a tooth, and make a plan, first: a try-in is held against both.", noPlan: "There is no plan, so the try-in is held against the tooth alone.",
      help: "Photograph the cured try-in or the finished restoration as you took the tooth: wet, card beside it, same light. Or type a reading of the zone that was planned for.",
      add: "Add a try-in", another: "Another try-in", nth: "Try-in {n}", remove: "Remove this try-in", how: "How it was read", by: { photo: "by a photo", colour: "by a reading" },
      photo: "Drop a photo of the try-in with the card", point: "Click the restored tooth.", at: "Place in the photo, pixels: from the left, from the top", colour: "L* a* b*, and standard deviations if known",
      stage: "What it is", stages: { try_in: "a try-in", finished: "the restoration" }, cured: "The paste is cured", wet: "Tooth and paste are wet",
      placed: "Placed, from the floor: {layers}", placedNone: "no layers are known", target: "tooth before", seen: "now", prediction: "prediction", beside: "Beside", now: "It is now",
      intervalHelp: "The interval counts the errors of both readings in full.", unknown: "The reading states no uncertainty: the interval counts the tooth's alone.", kept: "It is kept in the case's file.",
    },
    label: "Name for this case", save: "Save the case", open: "Open a case", sheet: "Make the sheet", print: "Print", sheetNone: "Choose a tooth first.", sheetHelp: "The first page is for the chair, the second is the evidence.",
    caseHelp: "One file holds the photo, card, tabs, pastes and all you chose. Keep it as your rules for patient records ask.",
    keep: "Keep this case, without its photos, in this browser", keepSays: "A page opened from a file may share its storage with every other local page in this browser. Photos are never kept.", erase: "Erase what is kept", erased: "Nothing is kept in this browser.", keepFailed: "This browser does not let the page keep anything ({why}). Save the case as a file.",
    restored: "The case kept in this browser is here again. Add its photos, or open the saved file.", notWhole: "This case was made with settings that the page does not show; the command's figures may differ from these.",
    invented: "invented", inventedSays: "Demo tabs or pastes are invented: nothing computed from them is a shade or a plan to use.",
    readAs: "{name} is loaded.", notKnown: "{name} is neither a photo, a card, a tab set, a paste set nor a saved case.",
    bench: {
      tabs: "Tab set from repeat readings", tabsHelp: "A table with a row a reading: label, L, a, b (or one column a wavelength), and where you have them operator, day, instrument.", tabsDrop: "Drop the table of readings",
      audit: "Audit and drift", auditHelp: "What your set can and cannot match. With an earlier set: what has changed since.", auditRun: "Audit {name}", earlier: "Compare with an earlier set",
      fit: "Paste from drawdowns", fitHelp: "A table with a row a reading of each specimen over each backing.", fitDrop: "Drop the table of drawdowns", table: "Save the table to fill in",
      name: "Name", role: "Role", index: "Refractive index", result: "Result", download: "Save {file}", use: "Use it now", aside: "Readings set aside", line: "Line", why: "Why", used: "Used", mcdm: "MCDM", worse: "repeats worse than the others", wrong: "What is wrong in {file}", choose: "Choose a file",
    },
    first: {
      title: "The first day",
      intro: "Three things make the answer right: a measured card, your own measured tabs, and a photo taken as below.",
      list: [
        ["Print and measure a card", "Print the drawing in true size on matt paper, mount grey, tooth-coloured and a few coloured patches, and have each patch measured once by a spectrophotometer. The card's file goes with every photo."],
        ["Measure your tabs first", "Three readings of each tab you use, on three days if you can. Drop the table on the page Bench."],
        ["Then the pastes you use most", "A dentine and an enamel paste first: flat specimens of 0.5, 1 and 2 mm, cured as the maker says, read over black and white. Drop the table on the page Bench."],
        ["Take the photo", "Before isolation, teeth moist, within a minute of drying. Card beside the tooth, at its height and in the same light; lip held away; lens straight on, 20 to 40 cm away; focus on the tooth; two lights from the sides rather than one from the front; raw, or the camera's plain setting, no retouching."],
        ["The floor", "After preparing: rinse, leave it moist, card again in the frame, same light."],
        ["This file", "On a computer a double-click opens it. A tablet that does not run local files opens the same file from any static web host; the photo stays on the tablet all the same."],
      ],
      cardPrint: "Save the card's drawing", live: "The photo just taken", liveGood: "Nothing to mend was found in this photo.", liveNone: "Add a photo and the card; what to do better stands here at once.",
    },
    errors: {
      memory: "This device does not have the memory for this photo; make it smaller (half the width is enough) and add it again.",
      core: "This browser cannot run the measuring core; use a current version of any browser (it needs WebAssembly with exceptions).",
      picture: "This browser cannot show a picture of this size; the photo is too large for this device.",
    },
  },
};
const LANGUAGE = (navigator.languages || ["en"]).map((l) => l.slice(0, 2)).find((l) => TEXTS[l]) || "en";

function t(path, values = {}) {
  const text = path.split(".").reduce((o, key) => (o ? o[key] : undefined), TEXTS[LANGUAGE]);
  if (typeof text !== "string") return text === undefined ? path : text;
  return text.replace(/\{(\w+)\}/g, (_, key) => (key in values ? values[key] : ""));
}

// Figures as the reader's own country writes them.
function number(value, digits) {
  return new Intl.NumberFormat(navigator.language, { minimumFractionDigits: digits, maximumFractionDigits: digits }).format(value);
}
const signed = (value, digits) => number(value, digits).replace("-", "−");

// A number typed with a decimal comma or point; NaN for anything else.
function typed(text) {
  const plain = String(text).trim().replace(",", ".");
  return /^[+-]?(\d+\.?\d*|\.\d+)$/.test(plain) ? Number(plain) : NaN;
}
