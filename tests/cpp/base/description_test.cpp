// Values described once: the check, equality, the canonical text, words.

#include "mamelon/description.h"

#include <cmath>
#include <functional>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "mamelon/error.h"

namespace mamelon {

enum class Finish { matt, half_gloss };
template <>
struct Words<Finish> {
  static constexpr const char* name = "Finish";
  static constexpr auto words = words_of("matt", "half_gloss");
};

struct Sheet {
  std::string name = "a";
  double width_mm = 1;
  int count = 2;
};
template <>
struct Fields<Sheet> {
  static constexpr const char* name = "Sheet";
  static constexpr auto all() {
    return FieldList{needed("name", &Sheet::name, "of the sheet").items(1, 5),
                     field("width_mm", &Sheet::width_mm, "of it").in("mm").above(0, 10),
                     field("count", &Sheet::count, "of holes").range(0, 4).key("holes")};
  }
  static void relate(const Sheet& sheet, const std::string& where) {
    if (sheet.count > 2 && sheet.width_mm < 1) throw ArgumentError(where + ": too many holes");
  }
};

struct Stock {
  std::vector<Sheet> sheets;
  std::vector<double> weights;
  std::optional<Finish> finish;
};
template <>
struct Fields<Stock> {
  static constexpr const char* name = "Stock";
  static constexpr auto all() {
    return FieldList{field("sheets", &Stock::sheets, "in it").items(1, 3).unique(),
                     field("weights", &Stock::weights, "of them").range(0, 1),
                     field("finish", &Stock::finish, "of all")};
  }
};

namespace {

using testing::HasSubstr;

std::string refusal(const Stock& stock, const std::string& where) {
  try {
    check(stock, where);
  } catch (const ArgumentError& error) {
    return error.what();
  }
  return "accepted";
}

Stock changed(const std::function<void(Stock&)>& change) {
  Stock stock{{{.name = "oat"}, {.name = "rye"}}, {0, 1}, Finish::half_gloss};
  change(stock);
  return stock;
}

TEST(Description, TheCheckSaysWhereWhatAndWhatWouldBeRight) {
  EXPECT_EQ(refusal(changed([](Stock&) {}), "stock"), "accepted");
  const auto wide = changed([](Stock& s) { s.sheets[1].width_mm = 11; });
  EXPECT_EQ(refusal(wide, "stock 'x'"),
            "stock 'x'.sheets['rye'].width_mm: expected a number above 0 and at most 10, got 11");
  EXPECT_EQ(refusal(wide, "$"),
            "$.sheets[1].width_mm: expected a number above 0 and at most 10, got 11");
  for (const double bad : {0.0, -1.0, std::nan(""), no_limit})
    EXPECT_NE(refusal(changed([&](Stock& s) { s.sheets[0].width_mm = bad; }), "s"), "accepted");
  EXPECT_EQ(refusal(changed([](Stock& s) { s.sheets[0].count = 5; }), "$"),
            "$.sheets[0].holes: expected a whole number from 0 to 4, got 5");
  EXPECT_EQ(refusal(changed([](Stock& s) {
                      s.weights = {0.5, 1.5};
                    }),
                    "s"),
            "s.weights[1]: expected a number from 0 to 1, got 1.5");
}

TEST(Description, ListsNamesAndRelationsAreHeld) {
  EXPECT_EQ(refusal(changed([](Stock& s) { s.sheets.clear(); }), "s"),
            "s.sheets: expected 1 to 3 items, got 0");
  EXPECT_THAT(refusal(changed([](Stock& s) { s.sheets[1].name = "oat"; }), "s"),
              HasSubstr("s.sheets[1].name: the name \"oat\" is used twice"));
  EXPECT_EQ(refusal(changed([](Stock& s) { s.sheets[0].name.clear(); }), "s"),
            "s.sheets[0].name: the text is empty");
  EXPECT_THAT(refusal(changed([](Stock& s) { s.sheets[0].name = "barley"; }), "s"),
              HasSubstr("longer than 5 bytes"));
  EXPECT_EQ(refusal(changed([](Stock& s) {
                      s.sheets[0] = {"oat", 0.5, 3};
                    }),
                    "s"),
            "s.sheets['oat']: too many holes");
}

TEST(Description, EqualityIsFieldByFieldAndTakesNotANumberAsItself) {
  const Type& type = type_of<Stock>();
  const auto same_after = [&](const std::function<void(Stock&)>& change) {
    const Stock a = changed([](Stock&) {});
    const Stock b = changed(change);
    return same(type, &a, &b);
  };
  EXPECT_TRUE(same_after([](Stock&) {}));
  EXPECT_FALSE(same_after([](Stock& s) { s.sheets[1].count = 1; }));
  EXPECT_FALSE(same_after([](Stock& s) { s.finish = Finish::matt; }));
  EXPECT_FALSE(same_after([](Stock& s) { s.finish.reset(); }));
  EXPECT_FALSE(same_after([](Stock& s) { s.weights.pop_back(); }));
  const Stock odd = changed([](Stock& s) { s.weights[0] = std::nan(""); });
  EXPECT_TRUE(same(type, &odd, &odd));
}

TEST(Description, TheDigestFollowsEveryField) {
  const Stock stock = changed([](Stock&) {});
  EXPECT_EQ(canonical_text(stock),
            "{sheets=[{name=3:oat;width_mm=1;count=2;},{name=3:rye;width_mm=1;count=2;},];"
            "weights=[0,1,];finish=half_gloss;}");
  EXPECT_EQ(digest_of(stock), digest_of(changed([](Stock&) {})));
  EXPECT_NE(digest_of(stock), digest_of(changed([](Stock& s) { s.finish.reset(); })));
}

TEST(Description, WordsGoToTextAndBack) {
  EXPECT_EQ(to_string(Finish::half_gloss), "half_gloss");
  EXPECT_EQ(in_words(Finish::half_gloss), "half gloss");
  EXPECT_EQ(from_string<Finish>("matt"), Finish::matt);
  try {
    (void)from_string<Finish>("shiny");
    FAIL();
  } catch (const ArgumentError& error) {
    EXPECT_STREQ(error.what(), "expected one of matt and half_gloss, got 'shiny'");
  }
}

}  // namespace
}  // namespace mamelon
