// The JSON documents: what is read, what is refused and where the message points.

#include <cmath>
#include <functional>
#include <string>

#include <gtest/gtest.h>

#include "mamelon/error.h"
#include "mamelon/files.h"

#include "io/json_value.h"

namespace mamelon {

// A set with curves on another grid before and after it.
struct Beside {
  PasteSet pastes;
  Reflectance before;
  Reflectance after;
};
template <>
struct Fields<Beside> {
  static constexpr const char* name = "Beside";
  static constexpr const char* format = "mamelon-beside";
  static constexpr auto all() {
    return FieldList{needed("before", &Beside::before, "the set"),
                     needed("pastes", &Beside::pastes, "on one grid"),
                     needed("after", &Beside::after, "the set")};
  }
};

namespace {

// The Lab of "sand" is that of its curve, by sums over the 1 nm tables of colour-science with
// straight lines between the wavelengths and the ends held beyond them: 84.462, -1.873, 3.398. By
// the cubics that ASTM E2022 lays between them it is 84.464, -1.728, 3.117.
const std::string tab_set = R"({
  "format": "mamelon-tab-set", "version": "1.0", "name": "two", "viewing": "D65/2",
  "tabs": [
    {"name": "reed", "lab": [72.5, 1.25, 18.125], "random": [[0.04, 0, 0], [0, 0.01, 0], [0, 0, 0.01]], "dof": 4},
    {"name": "sand", "lab": [84.46, -1.87, 3.4], "reflectance": {"first_nm": 400, "step_nm": 20, "values": [0.3, 0.5, 0.6, 0.65]}}
  ]
})";

const std::string paste_set = R"({
  "format": "mamelon-paste-set", "version": "1.0", "name": "one",
  "grid": {"first_nm": 400, "step_nm": 20, "count": 4},
  "pastes": [{"name": "loam", "role": "dentine", "absorption_per_mm": [0.4, 0.3, 0.2, 0.1],
              "scattering_per_mm": [1.9, 1.8, 1.7, 1.6], "increment_limit_mm": 1.5}]
})";

const std::string card = R"({
  "format": "mamelon-card", "version": "1.0", "name": "small", "viewing": "D65/2",
  "width_mm": 30, "height_mm": 20, "dictionary": "4x4_50",
  "fiducials": [{"id": 0, "x_mm": 1, "y_mm": 1, "size_mm": 3}, {"id": 1, "x_mm": 26, "y_mm": 1, "size_mm": 3},
                {"id": 2, "x_mm": 26, "y_mm": 16, "size_mm": 3}, {"id": 3, "x_mm": 1, "y_mm": 16, "size_mm": 3}],
  "white": {"lab": [95, 0, 1], "areas": [{"x_mm": 5, "y_mm": 1, "width_mm": 3, "height_mm": 1}]},
  "patches": [{"name": "n0", "x_mm": 8, "y_mm": 8, "width_mm": 3, "height_mm": 3, "neutral": true, "lab": [80, 0, 0]}]
})";

std::string changed(std::string text, const std::string& from, const std::string& to) {
  const auto at = text.find(from);
  EXPECT_NE(at, std::string::npos) << from;
  return text.replace(at, from.size(), to);
}

std::string message_of(const std::function<void()>& call) {
  try {
    call();
  } catch (const DataError& error) {
    return error.what();
  }
  return "no error";
}

std::string tab_error(const std::string& from, const std::string& to) {
  return message_of([&] { (void)parse_tab_set(changed(tab_set, from, to), "set.json"); });
}

std::string paste_error(const std::string& from, const std::string& to) {
  return message_of([&] { (void)parse_paste_set(changed(paste_set, from, to), "set.json"); });
}

std::string card_error(const std::string& from, const std::string& to) {
  return message_of([&] { (void)parse_card(changed(card, from, to), "card.json"); });
}

TEST(Document, ATableInItsPlaceIsNamedWithWhatMakesTheOneFromTheOther) {
  const auto message = [](const auto& parse) {
    try {
      parse();
    } catch (const DataError& error) {
      return std::string(error.what());
    }
    return std::string();
  };
  const std::string table = "label,L,a,b\noat,70,1,15\n";
  EXPECT_NE(message([&] { (void)parse_tab_set(table, "t.csv"); }).find("tabs build"),
            std::string::npos);
  EXPECT_NE(message([&] { (void)parse_paste_set(table, "t.csv"); }).find("paste fit"),
            std::string::npos);
  EXPECT_NE(message([&] { (void)parse_card(table, "t.csv"); }).find("is a table"),
            std::string::npos);
}

TEST(Documents, ATabSetIsReadWithItsUncertaintyAndCurve) {
  const TabSet set = parse_tab_set(tab_set, "set.json");
  ASSERT_EQ(set.tabs.size(), 2U);
  EXPECT_EQ(set.tabs[0].name, "reed");
  EXPECT_EQ(set.tabs[0].lab.value, (Lab{72.5, 1.25, 18.125}));
  EXPECT_EQ(set.tabs[0].lab.random[0][0], 0.04);
  EXPECT_EQ(set.tabs[0].lab.dof, 4);
  EXPECT_TRUE(std::isinf(set.tabs[1].lab.dof));
  ASSERT_TRUE(set.tabs[1].reflectance);
  EXPECT_EQ(set.tabs[1].reflectance->values().back(), 0.65);
}

// CIEDE2000 of the Labs to that of the curve by E2022 (see above), by colour-science: 16.00,
// 0.99, 1.11.
TEST(Documents, ATabWhoseLabAndCurveDisagreeIsRefused) {
  EXPECT_EQ(
      tab_error("84.46, -1.87, 3.4", "70, 2, 20"),
      "set.json: tab 'sand': its Lab and its reflectance are ΔE00 16.0 apart under D65/2; in a "
      "photo the reflectance counts, and they may differ by 1");
  EXPECT_EQ(tab_error("84.46, -1.87, 3.4", "85.9, -1.87, 3.4"), "no error");
  EXPECT_NE(tab_error("84.46, -1.87, 3.4", "86.1, -1.87, 3.4").find("tab 'sand'"),
            std::string::npos);
}

TEST(Documents, EveryDocumentSurvivesARoundTrip) {
  const std::string tabs = to_json(parse_tab_set(tab_set, "set.json"));
  EXPECT_EQ(to_json(parse_tab_set(tabs, "set.json")), tabs);
  const std::string pastes = to_json(parse_paste_set(paste_set, "set.json"));
  EXPECT_EQ(to_json(parse_paste_set(pastes, "set.json")), pastes);
  const std::string cards = to_json(parse_card(card, "card.json"));
  EXPECT_EQ(to_json(parse_card(cards, "card.json")), cards);
}

TEST(Documents, TransportConstantsMakeAPasteSetVersion11AndSurvive) {
  const std::string with =
      changed(paste_set, "\"increment_limit_mm\": 1.5",
              "\"transport\": {\"absorption_per_mm\": [0.2, 0.15, 0.1, 0.05], "
              "\"reduced_scattering_per_mm\": [2.5, 2.4, 2.3, 2.2], \"anisotropy\": 0.7}");
  const std::string written = to_json(parse_paste_set(with, "set.json"));
  EXPECT_NE(written.find("\"version\": \"1.1\""), std::string::npos);
  const PasteSet again = parse_paste_set(written, "set.json");
  ASSERT_TRUE(again.pastes[0].transport);
  EXPECT_EQ(again.pastes[0].transport->anisotropy, 0.7);
  EXPECT_EQ(again.pastes[0].transport->reduced_scattering.values().back(), 2.2);
  const std::string spoilt = changed(with, "2.5, 2.4", "0, 2.4");
  EXPECT_NE(message_of([&] {
              (void)parse_paste_set(spoilt, "set.json");
            }).find("$.pastes[0].transport.reduced_scattering_per_mm[0]"),
            std::string::npos);
}

TEST(Documents, TheDemoDataIsRead) {
  const std::string data = MAMELON_DATA_DIR;
  EXPECT_GE(read_tab_set(data + "/tabs/orchard16.json").tabs.size(), 14U);
  EXPECT_EQ(read_paste_set(data + "/pastes/orchard10.json").pastes.size(), 10U);
  for (const std::string name : {"tooth20", "chart24", "compact12"}) {
    const Card read = read_card(data + "/cards/" + name + ".json");
    EXPECT_GE(read.patches.size(), 12U) << name;
  }
}

TEST(Documents, NotJsonNamesTheLine) {
  EXPECT_NE(tab_error("\"dof\": 4}", "\"dof\": 4,}").find("set.json: line 4: is not JSON"),
            std::string::npos);
  EXPECT_NE(tab_error("72.5", "NaN").find("line 4"), std::string::npos);
  EXPECT_NE(message_of([] { (void)parse_tab_set("", "set.json"); }).find("line 1"),
            std::string::npos);
  const std::string cut = tab_set.substr(0, tab_set.size() / 2);
  EXPECT_NE(message_of([&] { (void)parse_tab_set(cut, "set.json"); }).find("is not JSON"),
            std::string::npos);
}

TEST(Documents, ValuesOutOfRangeNameTheirPath) {
  EXPECT_EQ(tab_error("72.5", "172.5"),
            "set.json: at $.tabs[0].lab[0]: expected a number from 0 to 100, got 172.5");
  EXPECT_NE(tab_error("72.5", "null").find("at $.tabs[0].lab[0]: expected a finite number"),
            std::string::npos);
  EXPECT_NE(tab_error("72.5", "1e999").find("set.json"), std::string::npos);
  EXPECT_NE(tab_error("[84.46, -1.87, 3.4]", "[84.46, -1.87]")
                .find("at $.tabs[1].lab: expected 3 items, got 2"),
            std::string::npos);
  EXPECT_NE(tab_error("0.04, 0, 0", "-0.04, 0, 0").find("$.tabs[0].random"), std::string::npos);
  EXPECT_NE(tab_error("0.04, 0, 0", "0.04, 5, 0").find("$.tabs[0].random"), std::string::npos);
  EXPECT_NE(tab_error("\"step_nm\": 20", "\"step_nm\": 0").find("$.tabs[1].reflectance.step_nm"),
            std::string::npos);
  EXPECT_NE(paste_error("0.4, 0.3", "-0.4, 0.3").find("$.pastes[0].absorption_per_mm[0]"),
            std::string::npos);
  EXPECT_NE(paste_error("1.9, 1.8", "0, 1.8").find("$.pastes[0].scattering_per_mm[0]"),
            std::string::npos);
  EXPECT_NE(paste_error("0.4, 0.3, 0.2, 0.1", "0.4, 0.3, 0.2").find("expected 4 items, got 3"),
            std::string::npos);
  EXPECT_NE(paste_error("dentine", "filling").find("$.pastes[0].role"), std::string::npos);
  EXPECT_NE(card_error("\"x_mm\": 26, \"y_mm\": 1,", "\"x_mm\": 28, \"y_mm\": 1,")
                .find("$.fiducials[1]: lies outside the card"),
            std::string::npos);
  EXPECT_NE(card_error("\"id\": 1", "\"id\": 0").find("$.fiducials[1].id"), std::string::npos);
  EXPECT_NE(card_error(", \"lab\": [80, 0, 0]", "").find("$.patches[0]: the patch has no colour"),
            std::string::npos);
}

TEST(Documents, UnknownRepeatedAndMissingKeysAreRefused) {
  EXPECT_NE(tab_error("\"dof\": 4", "\"dofs\": 4").find("at $.tabs[0]: unknown key \"dofs\""),
            std::string::npos);
  EXPECT_NE(tab_error("\"dof\": 4", "\"name\": \"x\"").find("the key \"name\" twice"),
            std::string::npos);
  EXPECT_NE(tab_error("\"viewing\": \"D65/2\",", "").find("the key \"viewing\" is missing"),
            std::string::npos);
  EXPECT_NE(tab_error("\"sand\"", "\"reed\"").find("at $.tabs[1].name"), std::string::npos);
  EXPECT_NE(tab_error("D65/2", "noon").find("at $.viewing"), std::string::npos);
  EXPECT_NE(
      message_of([] {
        (void)parse_tab_set(
            R"({"format":"mamelon-tab-set","version":"1.0","name":"n","viewing":"D65/2","tabs":[]})",
            "set.json");
      }).find("at $.tabs: expected 1 to"),
      std::string::npos);
}

TEST(Documents, AnotherFormatOrMajorVersionIsRefusedAndANewerMinorIsRead) {
  EXPECT_NE(tab_error("mamelon-tab-set", "mamelon-card").find("at $.format"), std::string::npos);
  EXPECT_NE(tab_error("\"1.0\"", "\"2.0\"").find("at $.version"), std::string::npos);
  EXPECT_NE(tab_error("\"1.0\"", "\"one\"").find("at $.version"), std::string::npos);
  EXPECT_NE(tab_error("\"1.0\"", "1.0").find("at $.version"), std::string::npos);
  const std::string newer =
      changed(changed(tab_set, "\"1.0\"", "\"1.7\""), "\"dof\": 4", "\"dof\": 4, \"gloss\": 3");
  EXPECT_EQ(parse_tab_set(newer, "set.json").tabs.size(), 2U);
}

TEST(Documents, AMinorVersionThatIsKnownIsReadStrictly) {
  // Cards stand at 1.2: there an unknown key is a mistake, above it news.
  const auto card_error = [](const std::string& version) {
    const std::string text = changed(changed(card, "\"1.0\"", "\"" + version + "\""), "\"name\"",
                                     "\"surprise\": 1, \"name\"");
    return message_of([&] { (void)parse_card(text, "card.json"); });
  };
  EXPECT_NE(card_error("1.0").find("surprise"), std::string::npos);
  EXPECT_NE(card_error("1.2").find("surprise"), std::string::npos);
  EXPECT_EQ(card_error("1.3"), "no error");
}

TEST(Documents, AGridOfASetHoldsWithinTheSetAlone) {
  const Reflectance curve({500, 10, 5}, {0.1, 0.2, 0.3, 0.4, 0.5});
  const Beside beside{parse_paste_set(paste_set, "set.json"), curve, curve};
  const std::string text = detail::write_described(beside);
  const auto again = detail::parse_described<Beside>(text, "beside.json");
  EXPECT_EQ(again.before, curve);
  EXPECT_EQ(again.after, curve);
  EXPECT_EQ(again.pastes.pastes[0].absorption, beside.pastes.pastes[0].absorption);
  EXPECT_EQ(detail::write_described(again), text);
}

TEST(Documents, DeepNestingIsRefusedWithoutACrash) {
  const std::string deep = std::string(200000, '[');
  EXPECT_NE(message_of([&] { (void)parse_card(deep, "deep.json"); }), "no error");
}

}  // namespace
}  // namespace mamelon
