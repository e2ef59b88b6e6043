#include "page/case_from_page.h"

#include <algorithm>
#include <string>
#include <utility>

#include "base/numbers.h"

namespace mamelon::page {
namespace {

// What a document is read as, once for each text.
template <class T, class Parse>
const T& document_in(std::map<std::string, T>& known, const Json& document, const Parse& parse) {
  const std::string& text = document.at("text").get_ref<const std::string&>();
  const std::string key = sha256_hex(text);
  const auto found = known.find(key);
  if (found != known.end()) return found->second;
  return known.emplace(key, parse(text, document.at("name").get<std::string>())).first->second;
}

CasePhoto photo_of(const Session& session, const Json& key, bool rendering) {
  const auto found = session.photos.find(key.get<std::string>());
  if (found == session.photos.end()) {
    throw ArgumentError("the photo is not here any more; add it again");
  }
  CasePhoto photo = found->second;
  photo.camera_rendering = rendering;
  return photo;
}

PointPx point_of(const Json& at) {
  return {at.at(0).get<double>(), at.at(1).get<double>()};
}

BoxPx box_of(const Json& box) {
  return {box.at(0).get<double>(), box.at(1).get<double>(), box.at(2).get<double>(),
          box.at(3).get<double>()};
}

Json json_of(const BoxPx& box) {
  return {box.x, box.y, box.width, box.height};
}

Json json_of(const CaseTooth& tooth) {
  Json out = Json::object();
  if (tooth.number) out["number"] = *tooth.number;
  if (!tooth.at.rim.empty()) {
    out["rim"] = Json::array();
    for (const PointPx& at : tooth.at.rim) out["rim"].push_back({at.x, at.y});
  } else if (tooth.at.box) {
    out["box"] = json_of(*tooth.at.box);
  } else if (tooth.at.point) {
    out["point"] = {tooth.at.point->x, tooth.at.point->y};
  } else {
    throw ArgumentError(
        "this case points at a tooth by a mask, or has readings in the place of a photo, which the "
        "page does not show; solve it by the command");
  }
  return out;
}

CaseTooth tooth_of(const Json& tooth, const Case* opened) {
  if (opened) {
    for (const CaseTooth& one : opened->teeth) {
      if (json_of(one) == tooth) return one;
    }
  }
  CaseTooth out;
  if (tooth.contains("number") && tooth["number"].is_number_integer()) {
    out.number = tooth["number"].get<int>();
  }
  // A rim that was dragged says more than the point it came from.
  if (tooth.contains("rim")) {
    for (const Json& at : tooth["rim"]) out.at.rim.push_back(point_of(at));
  } else if (tooth.contains("box")) {
    out.at.box = box_of(tooth["box"]);
  } else {
    out.at.point = point_of(tooth.at("point"));
  }
  return out;
}

std::string as_typed(const Reading& colour) {
  std::string text;
  const Lab& lab = colour.lab.value;
  for (const double v : {lab.l, lab.a, lab.b}) text += detail::format_number(v) + " ";
  if (is_uncertainty_known(colour)) {
    for (const double v : colour.lab.sd()) text += detail::format_number(v) + " ";
  }
  text.pop_back();
  return text;
}

// L*, a*, b* and, where they are known, their standard deviations; typed as "48; 7,5; 22" or
// "48 7.5 22". `what` has that colour.
Reading colour_of(const std::string& text, const std::string& what, const Viewing& viewing) {
  std::string plain = text;
  const bool decimal_commas = plain.find_first_of("; ") != std::string::npos;
  for (char& c : plain) {
    if (c == ';' || (c == ',' && !decimal_commas)) c = ' ';
    if (c == ',') c = '.';
  }
  std::vector<double> numbers;
  for (std::size_t at = 0; at < plain.size();) {
    const std::size_t end = std::min(plain.find(' ', at), plain.size());
    if (end > at) {
      const auto number = detail::parse_number(std::string_view(plain).substr(at, end - at));
      if (!number) {
        throw ArgumentError("\"" + plain.substr(at, std::min<std::size_t>(end - at, 40)) +
                            "\" is no number; give the " + what +
                            "'s colour as L* a* b*, such as "
                            "48 7.5 22");
      }
      numbers.push_back(*number);
    }
    at = end + 1;
  }
  if (numbers.size() != 3 && numbers.size() != 6) {
    throw ArgumentError(
        "the " + what +
        "'s colour is three numbers, L* a* b*, or six with their standard deviations, not " +
        std::to_string(numbers.size()));
  }
  Reading reading{.label = what,
                  .zone = "",
                  .lab = {{numbers[0], numbers[1], numbers[2]}, {}, {}},
                  .reflectance = {},
                  .viewing = viewing,
                  .warnings = {},
                  .provenance = {}};
  if (numbers.size() == 6) {
    reading.lab.random =
        diagonal({numbers[3] * numbers[3], numbers[4] * numbers[4], numbers[5] * numbers[5]});
  }
  // Of the numbers: a case that is opened again has them in other words.
  reading.provenance = make_provenance("stated colour", as_typed(reading), {});
  return reading;
}

// Null unless the document has the photo and the card of the case that it was opened from.
const Case* opened_case(const Session& session, const Json& document) {
  const auto found = session.cases.find(document.value("opened", ""));
  if (found == session.cases.end()) return nullptr;
  const Case& opened = found->second;
  const Json photo = opened.photo ? Json(opened.photo->file.sha256()) : Json(nullptr);
  const Json card = opened.card ? Json(to_json(*opened.card)) : Json(nullptr);
  const Json& stated = document.at("card");
  return photo == document.at("photo") && card == (stated.is_object() ? stated.at("text") : stated)
             ? &opened
             : nullptr;
}

Restoration restoration_of(Session& session, const Json& document, const Viewing& viewing,
                           const Restoration* opened) {
  Restoration out;
  if (opened) out = *opened;
  out.floor = {};
  out.pastes = pastes_of(session, document);
  const Json& left_out = document.at("out");
  std::erase_if(out.pastes.pastes, [&](const Paste& paste) {
    return std::find(left_out.begin(), left_out.end(), Json(paste.name)) != left_out.end();
  });
  if (out.pastes.pastes.empty()) {
    throw ArgumentError("no paste is left in the drawer; tick at least one");
  }
  const Json& floor = document.at("floor");
  if (floor.at("kind") == "colour") {
    out.floor.colour = colour_of(floor.at("colour").get<std::string>(), "floor", viewing);
  } else if (floor.at("kind") == "curve") {
    out.floor.reflectance =
        parse_reflectance(floor.at("text").get<std::string>(), floor.at("name").get<std::string>());
  } else {
    out.floor.photo = photo_of(session, floor.at("photo"), document.at("rendering").get<bool>());
    out.floor.box = box_of(floor.at("box"));
  }
  out.depths_mm = {document.at("depth").get<double>()};
  out.max_layers = document.at("layers").get<int>();
  out.role_order = !document.at("anyOrder").get<bool>();
  out.zone = document.at("zone").get<std::string>();
  out.placing.lamp_irradiance_mw_cm2 = document.at("lamp").get<double>();
  out.placing.contact_wall = document.at("wall").get<bool>();
  if (!document.at("lights").get<bool>()) {
    out.also_under.clear();
  } else if (out.also_under.empty()) {
    for (const char* name : {"A", "LED-B3"}) {
      out.also_under.push_back({standard_illuminant(name), 0.5});
    }
  }
  return out;
}

ChairNotes chair_of(const Json& document) {
  ChairNotes out{.date = document.at("date").get<std::string>(),
                 .operator_code = document.at("operator").get<std::string>()};
  for (const Json& one : document.at("lots")) {
    out.lots.push_back({one.at("paste").get<std::string>(), one.at("lot").get<std::string>()});
  }
  return out;
}

std::string table_of(const Reflectance& curve) {
  std::string text = "wavelength_nm,reflectance\n";
  for (std::size_t i = 0; i < curve.grid().count; ++i) {
    text += detail::format_number(curve.grid().wavelength_nm(i)) + "," +
            detail::format_number(curve[i]) + "\n";
  }
  return text;
}

void show_restoration(Session& session, const Restoration& asked, Json& out) {
  std::string text = to_json(asked.pastes);
  out["pastes"] = shown(asked.pastes, text);
  session.pastes.insert_or_assign(sha256_hex(text), asked.pastes);
  out["out"] = Json::array();
  if (asked.floor.colour) {
    out["floor"] = {{"kind", "colour"},
                    {"photo", nullptr},
                    {"box", nullptr},
                    {"colour", as_typed(*asked.floor.colour)}};
  } else if (asked.floor.reflectance) {
    out["floor"] = {{"kind", "curve"}, {"photo", nullptr},
                    {"box", nullptr},  {"colour", ""},
                    {"name", "floor"}, {"text", table_of(*asked.floor.reflectance)}};
  } else if (asked.floor.photo && asked.floor.box) {
    session.photos[asked.floor.photo->file.sha256()] = *asked.floor.photo;
    out["floor"] = {{"kind", "photo"},
                    {"photo", asked.floor.photo->file.sha256()},
                    {"box", json_of(*asked.floor.box)},
                    {"colour", ""}};
  } else {
    throw ArgumentError(
        "this case has its floor as a mask, which the page does not show; solve it by "
        "the command");
  }
  out["depth"] = asked.depths_mm.front();
  out["layers"] = asked.max_layers;
  out["anyOrder"] = !asked.role_order;
  out["zone"] = asked.zone;
  out["lamp"] = asked.placing.lamp_irradiance_mw_cm2.value_or(1000);
  out["wall"] = asked.placing.contact_wall;
  out["lights"] = !asked.also_under.empty();
  out["plan"] = true;
}

void show_chair(const ChairNotes& notes, Json& out) {
  out["date"] = notes.date;
  out["operator"] = notes.operator_code;
  out["lots"] = Json::array();
  for (const PasteLot& one : notes.lots) {
    out["lots"].push_back({{"paste", one.paste}, {"lot", one.lot}});
  }
}

Json json_of(Session& session, const TryIn& try_in) {
  Json layers = Json::array();
  for (const PlacedLayer& layer : try_in.layers) {
    layers.push_back({{"paste", layer.paste}, {"thickness_mm", layer.thickness_mm}});
  }
  Json out = {{"date", try_in.date},
              {"stage", to_string(try_in.stage)},
              {"cured", try_in.cured},
              {"wet", try_in.wet},
              {"kind", try_in.photo ? "photo" : "colour"},
              {"photo", nullptr},
              {"rendering", false},
              {"point", nullptr},
              {"colour", try_in.reading ? as_typed(*try_in.reading) : ""},
              {"layers", std::move(layers)}};
  if (try_in.photo) {
    session.photos[try_in.photo->file.sha256()] = *try_in.photo;
    out["photo"] = try_in.photo->file.sha256();
    out["rendering"] = try_in.photo->camera_rendering;
    if (try_in.at.point) out["point"] = {try_in.at.point->x, try_in.at.point->y};
  }
  return out;
}

}  // namespace

const Card& card_of(Session& session, const Json& document) {
  return document_in(session.cards, document.at("card"),
                     [](const auto& text, const auto& name) { return parse_card(text, name); });
}

const TabSet& tabs_of(Session& session, const Json& document) {
  return document_in(session.tabs, document.at("tabs"),
                     [](const auto& text, const auto& name) { return parse_tab_set(text, name); });
}

const PasteSet& pastes_of(Session& session, const Json& document) {
  return document_in(session.pastes, document.at("pastes"), [](const auto& text, const auto& name) {
    return parse_paste_set(text, name);
  });
}

TryIn try_in_of(const Session& session, const Json& try_in, const Viewing& viewing) {
  TryIn out{.date = try_in.at("date").get<std::string>(),
            .stage = from_string<Stage>(try_in.at("stage").get<std::string>()),
            .cured = try_in.at("cured").get<bool>(),
            .wet = try_in.at("wet").get<bool>()};
  if (try_in.at("kind") == "photo") {
    out.photo = photo_of(session, try_in.at("photo"), try_in.at("rendering").get<bool>());
    if (try_in.at("point").is_array()) out.at.point = point_of(try_in["point"]);
  } else {
    out.reading = colour_of(try_in.at("colour").get<std::string>(), "try-in", viewing);
  }
  for (const Json& layer : try_in.at("layers")) {
    out.layers.push_back(
        {layer.at("paste").get<std::string>(), layer.at("thickness_mm").get<double>()});
  }
  return out;
}

Case case_of(Session& session, const Json& document) {
  const Case* opened = opened_case(session, document);
  Case out{.viewing = viewing_from_string("D65/2")};
  if (opened) out = *opened;
  out.label = document.at("label").get<std::string>();
  if (document.at("photo").is_string()) {
    out.photo = photo_of(session, document["photo"], document.at("rendering").get<bool>());
  }
  if (document.at("card").is_object()) out.card = card_of(session, document);
  out.tabs.reset();
  if (document.at("tabs").is_object()) out.tabs = tabs_of(session, document);
  out.tabs_in_photo.clear();
  for (const Json& one : document.at("tabBoxes")) {
    out.tabs_in_photo.push_back({one.at("tab").get<std::string>(), box_of(one.at("box"))});
  }
  out.posterior = document.at("posterior").get<bool>();
  out.teeth.clear();
  for (const Json& tooth : document.at("teeth")) out.teeth.push_back(tooth_of(tooth, opened));
  // It may name a tooth that is not there any more.
  if (opened && out.teeth.size() != opened->teeth.size()) out.headline.clear();
  out.restoration.reset();
  if (document.value("plan", false)) {
    const Restoration* asked = opened && opened->restoration ? &*opened->restoration : nullptr;
    out.restoration = restoration_of(session, document, out.viewing, asked);
  }
  out.chair = chair_of(document);
  out.try_ins.clear();
  for (const Json& one : document.at("tryIns")) {
    out.try_ins.push_back(try_in_of(session, one, out.viewing));
  }
  return out;
}

Json document_of(Session& session, const Case& given) {
  Json out = {{"label", given.label},
              {"posterior", given.posterior},
              {"teeth", Json::array()},
              {"opened", digest_of(given)}};
  session.cases.insert_or_assign(out["opened"].get<std::string>(), given);
  if (given.photo) {
    session.photos[given.photo->file.sha256()] = *given.photo;
    out["photo"] = given.photo->file.sha256();
    out["rendering"] = given.photo->camera_rendering;
  }
  if (given.card) {
    std::string text = to_json(*given.card);
    out["card"] = shown(*given.card, text);
    session.cards.insert_or_assign(sha256_hex(text), *given.card);
  }
  if (given.tabs) {
    std::string text = to_json(*given.tabs);
    out["tabs"] = shown(*given.tabs, text);
    session.tabs.insert_or_assign(sha256_hex(text), *given.tabs);
  }
  out["tabBoxes"] = Json::array();
  for (const TabInPhoto& one : given.tabs_in_photo) {
    out["tabBoxes"].push_back({{"tab", one.tab}, {"box", json_of(one.box)}});
  }
  for (const CaseTooth& tooth : given.teeth) out["teeth"].push_back(json_of(tooth));
  if (given.restoration) show_restoration(session, *given.restoration, out);
  show_chair(given.chair, out);
  out["tryIns"] = Json::array();
  for (const TryIn& one : given.try_ins) out["tryIns"].push_back(json_of(session, one));
  return out;
}

Json shown(const Card& card, const std::string& text) {
  return {{"kind", "card"}, {"name", card.name}, {"text", text}, {"invented", false}};
}

Json shown(const TabSet& tabs, const std::string& text) {
  Json members = Json::array();
  for (const Tab& tab : tabs.tabs) members.push_back({{"name", tab.name}});
  return {{"kind", "tabs"},
          {"name", tabs.name},
          {"text", text},
          {"invented", tabs.invented},
          {"members", std::move(members)}};
}

Json shown(const PasteSet& pastes, const std::string& text) {
  Json members = Json::array();
  for (const Paste& paste : pastes.pastes) {
    members.push_back({{"name", paste.name}, {"role", to_string(paste.role)}});
  }
  return {{"kind", "pastes"},
          {"name", pastes.name},
          {"text", text},
          {"invented", pastes.invented},
          {"members", std::move(members)}};
}

}  // namespace mamelon::page
