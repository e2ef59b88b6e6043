// Tables as spreadsheets and instruments save them.

#include "io/table.h"

#include <cmath>
#include <functional>
#include <sstream>
#include <string>

#include <gtest/gtest.h>

#include "mamelon/error.h"
#include "mamelon/files.h"

#include "io/columns.h"
#include "io/csv.h"

namespace mamelon {
namespace {

const Viewing& d65() {
  static const Viewing viewing{standard_illuminant("D65"), Observer::deg2};
  return viewing;
}

std::string message_of(const std::function<void()>& call) {
  try {
    call();
  } catch (const DataError& error) {
    return error.what();
  }
  return "no error";
}

std::string table_error(const std::string& text) {
  return message_of([&] { (void)parse_table(text, "t.csv", d65()); });
}

std::string utf16(const std::string& ascii, bool big, bool mark) {
  std::string out;
  const auto put = [&](char16_t c) {
    const char low = static_cast<char>(c & 0xFF);
    const char high = static_cast<char>(c >> 8);
    out += big ? high : low;
    out += big ? low : high;
  };
  if (mark) put(0xFEFF);
  for (const char c : ascii) put(static_cast<unsigned char>(c));
  return out;
}

const std::string plain = "label,L,a,b\nreed,72.5,1.25,18.125\nsand,70,-2,20\n";

TEST(Table, ReadsLabRows) {
  const auto readings = parse_table(plain, "t.csv", d65());
  ASSERT_EQ(readings.size(), 2U);
  EXPECT_EQ(readings[0].label, "reed");
  EXPECT_EQ(readings[0].lab.value, (Lab{72.5, 1.25, 18.125}));
  EXPECT_EQ(readings[1].lab.value, (Lab{70, -2, 20}));
  EXPECT_NE(readings[0].provenance.digest, readings[1].provenance.digest);
}

class RegionalTable : public testing::TestWithParam<std::string> {};

TEST_P(RegionalTable, ReadsAsThePlainOne) {
  const auto readings = parse_table(GetParam(), "t.csv", d65());
  ASSERT_EQ(readings.size(), 2U);
  EXPECT_EQ(readings[0].label, "reed");
  EXPECT_EQ(readings[0].lab.value, (Lab{72.5, 1.25, 18.125}));
  EXPECT_EQ(readings[1].lab.value, (Lab{70, -2, 20}));
}

INSTANTIATE_TEST_SUITE_P(
    Flavours, RegionalTable,
    testing::Values(
        "\xEF\xBB\xBFlabel,L,a,b\r\nreed,72.5,1.25,18.125\r\nsand,70,-2,20\r\n",
        "label;L;a;b\nreed;72,5;1,25;18,125\nsand;70;-2;20",
        "label\tL*\ta*\tb*\nreed\t72.5\t1.25\t18.125\nsand\t70\t-2\t20\n",
        "label\tL\ta\tb\rreed\t72,5\t1,25\t18,125\rsand\t70\t-2\t20\r",
        "sep=;\r\nlabel;L;a;b\r\nreed;72.5;1.25;18.125\r\nsand;70;-2;20\r\n",
        "\"Sample ID\", \"LAB_L\", \"LAB_A\", \"LAB_B\"\n\"reed\",72.5,\"1.25\",18.125\n\"sand\" , "
        "70 , -2 , +20\n",
        "# a comment\n\nlabel,L,a,b\n,,,\nreed,72.5,1.25,18.125\n\n# more\nsand,70,-2,20\n",
        "b,note,L,label,a\n18.125,x,72.5,reed,1.25\n20,,70,sand,-2\n",
        utf16("label;L;a;b\r\nreed;72,5;1,25;18,125\r\nsand;70;-2;20\r\n", false, true),
        utf16("label\tL\ta\tb\nreed\t72.5\t1.25\t18.125\nsand\t70\t-2\t20\n", true, true),
        utf16("label,L,a,b\nreed,72.5,1.25,18.125\nsand,70,-2,20\n", false, false)));

TEST(Table, QuotedLabelsKeepDelimitersQuotesAndLineBreaks) {
  const auto readings =
      parse_table("label,L,a,b\n\"a, \"\"b\"\"\nc\",70,1,2\nplain,60,1,2\n", "t.csv", d65());
  ASSERT_EQ(readings.size(), 2U);
  EXPECT_EQ(readings[0].label, "a, \"b\"\nc");
}

TEST(Table, LabelsThatAreNotUtf8AreReadAsLatin1) {
  EXPECT_EQ(parse_table("label,L,a,b\nh\xEAtre,70,1,2\n", "t.csv", d65())[0].label, "hêtre");
}

TEST(Table, WavelengthSpellings) {
  for (const std::string header :
       {"400", "400nm", "400 nm", "R400", "nm400", "SPEC_400", "SPECTRAL_NM400", "spectral_400",
        "400 nm [%]", "%R400", "R_400nm", "wavelength 400"}) {
    const auto nm = detail::wavelength_of(header);
    ASSERT_TRUE(nm) << header;
    EXPECT_EQ(*nm, 400) << header;
  }
  for (const std::string header : {"label", "L", "100", "4000", "R", "400-500", "nm", ""}) {
    EXPECT_FALSE(detail::wavelength_of(header)) << header;
  }
}

std::string spectral(const std::string& prefix, double value, const std::string& second_row = "") {
  std::string header = "label";
  std::string row = "x";
  for (int nm = 400; nm <= 700; nm += 10) {
    header += "," + prefix + std::to_string(nm);
    row += "," + std::to_string(value);
  }
  return header + "\n" + second_row + row + "\n";
}

TEST(Table, AFlatSpectrumIsNeutralAndPercentIsSeen) {
  // CIELAB of a grey of 20 %: L* = 116·0.2^(1/3) − 16 (ISO/CIE 11664-4).
  const double l = 116 * std::cbrt(0.2) - 16;
  std::string units = "label";
  units = "";
  for (int i = 0; i < 31; ++i) units += ",%";
  for (const auto& text :
       {spectral("", 0.2), spectral("%R", 20.0), spectral("R", 20.0, units + "\n")}) {
    const auto readings = parse_table(text, "t.csv", d65());
    ASSERT_EQ(readings.size(), 1U);
    ASSERT_TRUE(readings[0].reflectance);
    EXPECT_NEAR((*readings[0].reflectance)[3], 0.2, 1e-15);
    EXPECT_NEAR(readings[0].lab.value.l, l, 1e-9);
    EXPECT_NEAR(readings[0].lab.value.a, 0, 0.02);
    EXPECT_NEAR(readings[0].lab.value.b, 0, 0.02);
  }
}

TEST(Table, FallingWavelengthsAreTurnedRound) {
  std::string header = "label";
  std::string row = "x";
  for (int nm = 700; nm >= 400; nm -= 20) {
    header += "," + std::to_string(nm);
    row += "," + std::to_string(nm / 1000.0);
  }
  const auto falling = parse_table(header + "\n" + row + "\n", "t.csv", d65());
  ASSERT_TRUE(falling[0].reflectance);
  EXPECT_EQ(falling[0].reflectance->grid(), (Grid{400, 20, 16}));
  EXPECT_EQ((*falling[0].reflectance)[0], 0.4);
  EXPECT_EQ((*falling[0].reflectance)[15], 0.7);
}

TEST(Table, BadTablesNameFileLineAndColumn) {
  EXPECT_NE(table_error("").find("t.csv: is empty"), std::string::npos);
  EXPECT_NE(table_error("label,L,a,b\n").find("no row"), std::string::npos);
  EXPECT_NE(table_error("1,2,3,4\n5,6,7,8\n").find("line 1: the header names no colour"),
            std::string::npos);
  EXPECT_NE(table_error("label,L,a\nx,1,2\n").find("line 1: the header has only some"),
            std::string::npos);
  EXPECT_EQ(table_error("label,L,a,b\nx,70,1,2\ny,nan,1,2\n"),
            "t.csv: line 3, column \"L\": expected a finite number, got \"nan\"");
  EXPECT_NE(table_error("label,L,a,b\nx,70,1,\n")
                .find("column \"b\": expected a finite number, "
                      "got an empty cell"),
            std::string::npos);
  EXPECT_NE(table_error("label,L,a,b\nx,700,1,2\n").find("expected a value from 0 to 150"),
            std::string::npos);
  EXPECT_NE(table_error("label,L,a,b\nx,70,1\n").find("line 2: has 3 cells"), std::string::npos);
  EXPECT_NE(table_error("label,L,a,b\nx,70,5,1,2,3\n").find("line 2: has 6 cells"),
            std::string::npos);
  EXPECT_NE(table_error("label,L,a,b\n\"x,70,1,2\n").find("line 2: a quote is opened"),
            std::string::npos);
  EXPECT_NE(table_error("label,L,L*,a,b\nx,1,2,3,4\n").find("both mean CIELAB L*"),
            std::string::npos);
  EXPECT_NE(table_error("label,400,410,410,420\nx,.1,.1,.1,.1\n").find("do not rise steadily"),
            std::string::npos);
  EXPECT_NE(table_error("label,400,410,430\nx,.1,.1,.1\n").find("not evenly spaced"),
            std::string::npos);
  EXPECT_NE(table_error("label,400,450,500\nx,.1,.1,.1\n").find("at most 20 nm"),
            std::string::npos);
  EXPECT_NE(table_error(spectral("", 20)).find("percent"), std::string::npos);
  EXPECT_NE(table_error(std::string("label,L\0,a,b\n", 13)).find("not a text file"),
            std::string::npos);
  EXPECT_NE(table_error("label;L;a;b\nx;70,5;1.5;2\n").find("\"70,5\""), std::string::npos);
}

TEST(Table, ReadingGoesOnAfterABadRow) {
  std::istringstream in("label,L,a,b\nx,70,1,2\ny,?,1,2\nz,60,1,2\n");
  detail::TableReader reader(in, "t.csv", d65());
  detail::TableRow row;
  EXPECT_TRUE(reader.next(row));
  EXPECT_THROW((void)reader.next(row), DataError);
  EXPECT_TRUE(reader.next(row));
  EXPECT_EQ(row.label, "z");
  EXPECT_EQ(row.line, 4U);
  EXPECT_FALSE(reader.next(row));
}

TEST(Table, RowsAcrossTheReadersBlocksAreWhole) {
  std::string text = "label,L,a,b\r\n";
  for (int i = 0; i < 20000; ++i) text += "row " + std::to_string(i) + ",70,1,2\r\n";
  const auto readings = parse_table(text, "t.csv", d65());
  ASSERT_EQ(readings.size(), 20000U);
  for (std::size_t i = 0; i < readings.size(); ++i) {
    ASSERT_EQ(readings[i].label, "row " + std::to_string(i));
  }
}

TEST(ReflectanceTable, ReadsAndRefuses) {
  std::string rest;
  std::string rest_in_percent;
  for (int nm = 440; nm <= 700; nm += 20) {
    rest += std::to_string(nm) + ",0.3\n";
    rest_in_percent += std::to_string(nm) + ";30\n";
  }
  const Reflectance curve =
      parse_reflectance("wavelength_nm,reflectance\n400,0.1\n420,0.2\n" + rest, "f.csv");
  EXPECT_EQ(curve.grid(), (Grid{400, 20, 16}));
  EXPECT_EQ(curve[0], 0.1);
  EXPECT_EQ(curve[15], 0.3);
  EXPECT_EQ(
      parse_reflectance("nm;reflectance_percent\n400;10\n420;20,5\n" + rest_in_percent, "f.csv")[1],
      0.205);
  const auto refused = [](const std::string& text) {
    return message_of([&] { (void)parse_reflectance(text, "f.csv"); });
  };
  EXPECT_NE(refused("400,0.1\n410,0.2\n420,0.3\n").find("line 1: expected the header"),
            std::string::npos);
  EXPECT_NE(refused("nm,r\n400,0.1\n390,0.2\n").find("line 3: the wavelengths must rise"),
            std::string::npos);
  EXPECT_NE(refused("nm,r\n400,10\n410,20\n").find("reflectance_percent"), std::string::npos);
  EXPECT_NE(refused("nm,r\n400,-0.1\n").find("line 2: expected a reflectance"), std::string::npos);
  EXPECT_NE(refused("nm,r\n400,0.1\n410,0.2\n").find("at least 3"), std::string::npos);
  EXPECT_NE(refused("nm,r\n400,0.1\n410,0.2\n500,0.3\n").find("not evenly spaced"),
            std::string::npos);
  EXPECT_NE(refused("").find("is empty"), std::string::npos);
  for (const std::string name : {"dark_dentine", "sound_dentine"}) {
    EXPECT_EQ(read_reflectance(std::string(MAMELON_DATA_DIR) + "/floors/" + name + ".csv").size(),
              31U);
  }
}

// The same table in the words of several benches.
TEST(Columns, AreUnderstoodInOtherLanguages) {
  for (const std::vector<std::string>& header : std::vector<std::vector<std::string>>{
           {"Muster", "L*", "a*", "b*", "Bediener", "Datum", "Messgerät", "Zone"},
           {"ÉCHANTILLON", "L", "a", "b", "opérateur", "jour", "appareil", "zone"},
           {"muestra", "L", "a", "b", "operador", "día", "aparato", "zona"},
           {"campione", "L", "a", "b", "operatore", "giorno", "strumento", "zona"},
           {"amostra", "L", "a", "b", "operador", "data", "instrumento", "zona"},
           {"monster", "L", "a", "b", "operator", "dag", "toestel", "zone"}}) {
    const detail::Columns columns = detail::columns_of(header, "t.csv: line 1");
    EXPECT_EQ(columns.label, 0U) << header[0];
    EXPECT_EQ(columns.operator_name, 4U) << header[4];
    EXPECT_EQ(columns.day, 5U) << header[5];
    EXPECT_EQ(columns.instrument, 6U) << header[6];
    EXPECT_EQ(columns.zone, 7U) << header[7];
  }
}

TEST(Columns, MeanWhatTheUserSays) {
  const std::vector<std::string> header{"label", "Farbe Nr.", "Helligkeit", "a", "b", "Termin"};
  const detail::Columns columns = detail::columns_of(
      header, "t.csv: line 1", {}, {{"tab", "Farbe Nr."}, {"L", "helligkeit"}, {"day", "Termin"}});
  EXPECT_EQ(columns.label, 1U);
  EXPECT_EQ(columns.l, 2U);
  EXPECT_EQ(columns.day, 5U);
  const auto refused = [&](const detail::ColumnNames& names) {
    try {
      (void)detail::columns_of(header, "t.csv: line 1", {}, names);
    } catch (const ArgumentError& error) {
      return std::string(error.what());
    }
    return std::string("no error");
  };
  EXPECT_NE(refused({{"L", "Hell"}}).find("no column is called \"Hell\""), std::string::npos);
  EXPECT_NE(refused({{"remark", "label"}}).find("no column can mean \"remark\""),
            std::string::npos);
}

TEST(Table, DatesDoNotHideTheDecimalComma) {
  const auto readings = parse_table(
      "label;L;a;b;day\noat;70,5;1,25;15,5;1.3.2025\n2.5;71;1;15;1.3\n", "t.csv", d65());
  ASSERT_EQ(readings.size(), 2U);
  EXPECT_EQ(readings[0].lab.value, (Lab{70.5, 1.25, 15.5}));
  EXPECT_NE(table_error("label;L;a;b\noat;70,5;1,25;15.500\n").find("decimal comma"),
            std::string::npos);
}

}  // namespace
}  // namespace mamelon
