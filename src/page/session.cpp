#include "page/session.h"

#include <string>
#include <utility>

#include "page/case_from_page.h"
#include "page/shown.h"

namespace mamelon::page {
namespace {

Answer solved(Session& session, const Json& asked, const SolveProgress& progress) {
  session.report.reset();
  session.report = solve(case_of(session, asked), progress, &session.memory);
  return {shown(*session.report).dump(), {}};
}

const Report& last_report(const Session& session) {
  if (!session.report) throw ArgumentError("nothing is measured yet");
  return *session.report;
}

std::vector<PlannedLayer> layers_of(const Json& asked) {
  std::vector<PlannedLayer> layers;
  for (const Json& one : asked) {
    layers.push_back({.paste = one.at("paste").get<std::string>(),
                      .thickness_mm = one.at("thickness_mm").get<double>()});
  }
  return layers;
}

Answer predicted(const Session& session, const Json& asked) {
  const Report& report = last_report(session);
  if (!report.request) throw ArgumentError("no plan is made yet");
  const Plan plan = predict_plan(*report.request, layers_of(asked.at("layers")));
  return {shown(plan, *report.request, 0).dump(), {}};
}

// A try-in beside what the last report says of the same case.
Answer tried_in(Session& session, const Json& asked) {
  const Case given = case_of(session, asked.at("case"));
  const TryIn seen = try_in_of(session, asked.at("tryIn"), given.viewing);
  const Report& report = last_report(session);
  return {shown(compare_try_in(given, report, seen, &session.try_in_memory), report).dump(), {}};
}

// The last report with the plan that was chosen, or moved by hand, in the place of the recommended.
Report as_chosen(const Session& session, const Json& asked) {
  Report report = last_report(session);
  ToothReport& tooth = report.teeth.at(report.headline);
  if (!tooth.plans || !asked.contains("plan")) return report;
  const std::size_t choice = asked["plan"].get<std::size_t>();
  if (choice != tooth.plans->recommended) {
    tooth.plans->recommended = choice;
    tooth.plans->why = "Chosen by hand in the place of the plan that was recommended.";
  }
  if (asked.contains("layers")) {
    tooth.plans->plans.at(choice) = predict_plan(*report.request, layers_of(asked["layers"]));
    tooth.plans->why = "Layers moved by hand; the colour is predicted anew.";
  }
  return report;
}

// The card of a photo, before a tooth is chosen.
Answer card_in_view(Session& session, const Json& asked) {
  const auto [photo, fit] = fit_photo(case_of(session, asked), &session.memory);
  std::vector<std::string> notes = photo->warnings;
  notes.insert(notes.end(), fit->warnings.begin(), fit->warnings.end());
  return {Json{{"card", shown(*fit)}, {"notes", notes}}.dump(), {}};
}

Answer teeth_in_view(Session& session, const Json& asked) {
  const auto [photo, fit] = fit_photo(case_of(session, asked), &session.memory);
  Json teeth = Json::array();
  for (const ToothInView& tooth : find_teeth(*photo, *fit)) teeth.push_back(shown(tooth));
  return {Json{{"teeth", std::move(teeth)}}.dump(), {}};
}

Answer put(Session& session, std::vector<std::byte> bytes) {
  CasePhoto photo{.file = GivenFile(std::move(bytes))};
  const Json out = {{"key", photo.file.sha256()}};
  session.photos.insert_or_assign(photo.file.sha256(), std::move(photo));
  return {out.dump(), {}};
}

Answer preview(Session& session, const Json& asked) {
  const CasePhoto& file = session.photos.at(asked.at("key").get<std::string>());
  const auto photo = decode(file, &session.memory);
  Preview seen = preview_of(*photo, asked.at("side").get<std::size_t>());
  const Json out = {{"width", photo->width},
                    {"height", photo->height},
                    {"shown_width", seen.width},
                    {"shown_height", seen.height}};
  return {out.dump(), std::move(seen.rgba)};
}

Answer read(Session& session, const Json& asked) {
  const std::string text = asked.at("text").get<std::string>();
  const Json stated = Json::parse(text, nullptr, false);
  const std::string format = stated.is_object() ? stated.value("format", "") : "";
  const auto reading = [&](const char* kind) {
    return Json{{kind, {{"text", text}, {"name", asked.at("name")}}}};
  };
  Json out = {{"kind", "unknown"}};
  if (format == Fields<Card>::format) {
    out = shown(card_of(session, reading("card")), text);
  } else if (format == Fields<TabSet>::format) {
    out = shown(tabs_of(session, reading("tabs")), text);
  } else if (format == Fields<PasteSet>::format) {
    out = shown(pastes_of(session, reading("pastes")), text);
  }
  return {out.dump(), {}};
}

Answer load(Session& session, const std::vector<std::byte>& bytes, const std::string& name) {
  const Case given = parse_case({reinterpret_cast<const char*>(bytes.data()), bytes.size()}, name);
  Json document = document_of(session, given);
  Json photos = Json::array();
  for (const char* place : {"photo", "floor"}) {
    if (!document.contains(place)) continue;
    const Json& key = document[place].is_object() ? document[place]["photo"] : document[place];
    if (key.is_string()) photos.push_back(key);
  }
  for (const Json& one : document["tryIns"]) {
    if (one["photo"].is_string()) photos.push_back(one["photo"]);
  }
  // What the page has no place for would be lost without a word.
  Json complete = document;
  for (const char* place : {"photo", "card", "tabs"}) complete.emplace(place, nullptr);
  complete.emplace("rendering", false);
  const bool whole = digest_of(case_of(session, complete)) == digest_of(given);
  return {Json{{"document", std::move(document)}, {"photos", std::move(photos)}, {"whole", whole}}
              .dump(),
          {}};
}

Answer bytes_of(const Session& session, const Json& asked) {
  const auto& bytes = session.photos.at(asked.at("key").get<std::string>()).file.bytes();
  return {"{}", std::string(reinterpret_cast<const char*>(bytes.data()), bytes.size())};
}

Viewing viewing_of(const Json& asked) {
  return viewing_from_string(asked.value("viewing", "D65/2"));
}

Answer build_tabs(const Json& asked) {
  const std::string name = asked.at("name").get<std::string>();
  const auto readings = parse_repeats(asked.at("text").get<std::string>(),
                                      asked.at("file").get<std::string>(), viewing_of(asked));
  const Calibration found = calibrate(readings, {.name = name});
  Json out = shown(found);
  out["document"] = to_json(found.tabs);
  out["notes"] = found.warnings;
  return {out.dump(), {}};
}

// With an earlier set also what has changed since.
Answer audit_tabs(Session& session, const Json& asked) {
  const TabSet& tabs = tabs_of(session, asked);
  const Population population = generated_population(tabs.viewing);
  const Audit found = audit(tabs, population);
  std::vector<std::string> notes = found.warnings;
  std::optional<Drift> changed;
  if (asked.contains("earlier")) {
    changed = drift(tabs_of(session, Json{{"tabs", asked["earlier"]}}), tabs);
    notes.insert(notes.end(), changed->warnings.begin(), changed->warnings.end());
  }
  const AuditReport report{.label = tabs.name,
                           .tabs = &tabs,
                           .population = &population,
                           .audit = &found,
                           .drift = changed ? &*changed : nullptr,
                           .choice = nullptr};
  return {Json{{"notes", notes}}.dump(), sheet_html(report)};
}

Answer fit_paste_of(const Json& asked) {
  const Viewing viewing = viewing_of(asked);
  const auto drawdowns = parse_drawdowns(asked.at("text").get<std::string>(),
                                         asked.at("file").get<std::string>(), viewing);
  const FitReport report = fit_report(asked.at("name").get<std::string>(),
                                      from_string<Role>(asked.at("role").get<std::string>()),
                                      drawdowns, viewing, asked.at("index").get<double>());
  PasteSet set;
  set.name = report.paste.name;
  set.pastes.push_back(report.paste);
  const Json out = {{"document", to_json(set)}, {"notes", report.warnings}};
  return {out.dump(), sheet_html(report)};
}

}  // namespace

Answer run(Session& session, std::string_view operation, std::string_view json,
           std::vector<std::byte> bytes, const SolveProgress& progress) {
  const Json asked = Json::parse(json);
  if (operation == "about") {
    return {Json{{"version", library_version()}, {"roles", Words<Role>::words}}.dump(), {}};
  }
  if (operation == "put") return put(session, std::move(bytes));
  if (operation == "preview") return preview(session, asked);
  if (operation == "read") return read(session, asked);
  if (operation == "card") return card_in_view(session, asked);
  if (operation == "teeth") return teeth_in_view(session, asked);
  if (operation == "solve") return solved(session, asked, progress);
  if (operation == "report") return {"{}", to_json(last_report(session))};
  if (operation == "sheet") return {"{}", sheet_html(as_chosen(session, asked))};
  if (operation == "predict") return predicted(session, asked);
  if (operation == "try_in") return tried_in(session, asked);
  if (operation == "save") return {"{}", to_zip(case_of(session, asked))};
  if (operation == "load") return load(session, bytes, asked.at("name").get<std::string>());
  if (operation == "bytes") return bytes_of(session, asked);
  if (operation == "tabs") return build_tabs(asked);
  if (operation == "audit") return audit_tabs(session, asked);
  if (operation == "card_to_print") return {"{}", layout_svg(card_layout({}))};
  if (operation == "table_to_fill") return {"{}", drawdown_template({})};
  if (operation == "fit") return fit_paste_of(asked);
  throw ArgumentError("no operation is called " + std::string(operation));
}

}  // namespace mamelon::page
