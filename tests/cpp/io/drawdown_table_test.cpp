// Tables of drawdowns: formats, languages, mappings, and what is told of wrong ones.

#include <functional>
#include <string>
#include <string_view>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "mamelon/error.h"
#include "mamelon/paste_report.h"

namespace mamelon {
namespace {

using ::testing::HasSubstr;

const Viewing& d65() {
  static const Viewing viewing = viewing_from_string("D65/2");
  return viewing;
}

std::vector<Drawdown> parsed(std::string_view text, const DrawdownWords& words = {},
                             const TableOptions& options = {}) {
  return parse_drawdowns(text, "t", d65(), words, options);
}

std::string fault_of(const std::function<void()>& work) {
  try {
    work();
  } catch (const Error& error) {
    return error.what();
  }
  ADD_FAILURE() << "accepted";
  return {};
}

std::string fault(std::string_view text, const TableOptions& options = {}) {
  return fault_of([&] { (void)parsed(text, {}, options); });
}

void replace(std::string& text, std::string_view what, std::string_view by) {
  const auto at = text.find(what);
  ASSERT_NE(at, std::string::npos) << what;
  text.replace(at, what.size(), by);
}

constexpr std::string_view plain_table =
    "specimen,thickness_mm,backing,geometry,contact,value,lit_mm,seen_mm,400,420,440\n"
    ",,black,45/0,,external,,,0.04,0.05,0.06\n"
    ",,white,45/0,,external,,,0.80,0.82,0.84\n"
    "disc,1.05,black,45/0,contact,,8,4,0.30,0.32,0.34\n"
    "disc,1.05,white,45/0,contact,,8,4,0.50,0.52,0.54\n";

void expect_as_plain(const std::vector<Drawdown>& read) {
  const std::vector<Drawdown> plain = parsed(plain_table);
  ASSERT_EQ(read.size(), plain.size());
  for (std::size_t i = 0; i < plain.size(); ++i) {
    EXPECT_EQ(read[i].specimen, plain[i].specimen);
    EXPECT_EQ(read[i].thickness_mm, plain[i].thickness_mm);
    EXPECT_EQ(read[i].geometry, plain[i].geometry);
    EXPECT_EQ(read[i].contact, plain[i].contact);
    EXPECT_EQ(read[i].backing.grid(), plain[i].backing.grid());
    EXPECT_EQ(read[i].backing.values(), plain[i].backing.values());
    EXPECT_EQ(read[i].measured.values(), plain[i].measured.values());
    EXPECT_EQ(read[i].aperture->lit_mm, plain[i].aperture->lit_mm);
    EXPECT_EQ(read[i].aperture->seen_mm, plain[i].aperture->seen_mm);
  }
}

TEST(DrawdownTable, IsReadInSevenLanguagesAndAnyOrder) {
  // German with decimal commas and percent, the wavelengths first and falling.
  expect_as_plain(parsed(
      "440 nm [%];420 nm [%];400 nm [%];Untergrund;Prüfkörper;Dicke [mm];Messgeometrie;Kontakt;"
      "Wert;beleuchtet (mm);gesehen (mm)\n"
      "6,0;5,0;4,0;black;;;45/0;;extern;;\n"
      "84,0;82,0;80,0;white;;;45/0;;extern;;\n"
      "34,0;32,0;30,0;black;disc;1,05;45/0;Kontakt;;8;4\n"
      "54,0;52,0;50,0;white;disc;1,05;45/0;Kontakt;;8;4\n"));
  for (const std::string_view header :
       {"éprouvette,épaisseur (mm),fond,géométrie,contact,valeur,éclairé,vu",
        "probeta,espesor mm,fondo,geometría,contacto,valor,iluminado,visto",
        "provino,spessore,sfondo,geometria,contatto,valore,illuminato,visto",
        "provete,espessura,fundo,geometria,contato,valor,iluminado,visto",
        "proefstuk,dikte,ondergrond,geometrie,contact,waarde,verlicht,gezien"}) {
    std::string text(plain_table);
    replace(text, "specimen,thickness_mm,backing,geometry,contact,value,lit_mm,seen_mm", header);
    expect_as_plain(parsed(text));
  }
}

TEST(DrawdownTable, CellsAreUnderstoodInSevenLanguages) {
  const auto first = [](const std::string& contact, const std::string& value,
                        const std::string& face) {
    return parsed(
               "specimen,thickness_mm,backing,geometry,contact,value,lower_face,400,420,440\n"
               ",,x,di:8," +
               contact + "," + value +
               ",,0.1,0.1,0.1\n"
               "d,1,x,di:8," +
               contact + ",," + face + ",0.3,0.3,0.3\n")
        .front();
  };
  for (const auto& [gap, value, face] : {std::array{"Luftspalt", "extern", "rau"},
                                         {"lame d'air", "externe", "rugueux"},
                                         {"espacio de aire", "externo", "rugoso"},
                                         {"intercapedine", "esterno", "ruvido"},
                                         {"espaço de ar", "externo", "rugoso"},
                                         {"luchtspleet", "extern", "ruw"}}) {
    const Drawdown one = first(gap, value, face);
    EXPECT_EQ(one.contact, Backing::air_gap) << gap;
    EXPECT_EQ(one.lower_face, Face::rough) << face;
  }
  EXPECT_EQ(first("Kontakt", "intern", "poliert").contact, Backing::internal);
}

TEST(DrawdownTable, GeometriesAreThoseOfCie15) {
  const auto geometry = [](const std::string& word) {
    std::string text(plain_table);
    for (int i = 0; i < 4; ++i) replace(text, ",45/0,", ",\"" + word + "\",");
    return parsed(text).front().geometry;
  };
  for (const char* word : {"45/0", "0/45", "45:0", "45°a:0°", "0°:45°x", "45c:0"}) {
    EXPECT_EQ(geometry(word), Geometry::angle_45_0) << word;
  }
  for (const char* word : {"d:8 excluded", "d/8° SCE", "de:8°", "8°:de", "SPEX",
                           "d/8 (specular excluded)", "d:8 ausgeschlossen"}) {
    EXPECT_EQ(geometry(word), Geometry::diffuse_8_excluded) << word;
  }
  for (const char* word : {"d:8 included", "d/8, SCI", "di:8", "SPIN", "d:8 inclus"}) {
    EXPECT_EQ(geometry(word), Geometry::diffuse_8_included) << word;
  }
  // Neither says where the specular part is, nor is it 8°.
  for (const char* word : {"d:8", "d/0", "45", "excl", ""}) {
    EXPECT_THAT(fault_of([&] { (void)geometry(word); }),
                HasSubstr("line 2, column geometry: geometry must be 45/0, d:8 excluded"))
        << word;
  }
}

TEST(DrawdownTable, ColumnsAndWordsCanBeSaid) {
  std::string text(plain_table);
  replace(text, "thickness_mm", "Lage");
  replace(text, "backing", "what was under it");
  const TableOptions said{.resample_nm = {},
                          .columns = {{"thickness_mm", "lage"}, {"backing", "what was under it"}}};
  expect_as_plain(parsed(text, {}, said));
  expect_as_plain(parsed(text, {{"thickness_mm", "Lage"}, {"backing", "What was under it"}}));
  EXPECT_THAT(fault(text), HasSubstr("the column \"Lage\" is not known"));
  // What is said goes before what a header says of itself.
  replace(text, "specimen", "thickness");
  expect_as_plain(parsed(text, {},
                         {.resample_nm = {},
                          .columns = {{"specimen", "thickness"},
                                      {"thickness_mm", "Lage"},
                                      {"backing", "what was under it"}}}));
  EXPECT_THAT(fault(plain_table, {.resample_nm = {}, .columns = {{"backing", "floor"}}}),
              HasSubstr("no column is called \"floor\""));
  EXPECT_THAT(fault(plain_table, {.resample_nm = {}, .columns = {{"gloss", "backing"}}}),
              HasSubstr("no column can mean \"gloss\"; known are specimen, thickness_mm"));
}

TEST(DrawdownTable, WhatIsNotOursIsLeftWhereItIsSaid) {
  std::string text(plain_table);
  replace(text, "lit_mm", "gloss");
  replace(text, "seen_mm", "operator");
  EXPECT_THAT(fault(text), HasSubstr("the column \"gloss\" is not known"));
  const auto read = parsed(text, {}, {.resample_nm = {}, .columns = {{"unused", "gloss"}}});
  ASSERT_EQ(read.size(), 2U);
  EXPECT_FALSE(read.front().aperture);
}

TEST(DrawdownTable, UnevenSpectraAreResampledWhereThatIsAsked) {
  std::string text(plain_table);
  replace(text, "440", "435");
  EXPECT_THAT(fault(text), HasSubstr("not evenly spaced"));
  const auto read = parsed(text, {}, {.resample_nm = 10, .columns = {}});
  EXPECT_EQ(read.front().measured.grid(), (Grid{400, 10, 4}));
  EXPECT_DOUBLE_EQ(read.front().measured[0], 0.30);
  EXPECT_DOUBLE_EQ(read.front().measured[2], 0.32);
}

constexpr std::string_view cgats =
    "ISO28178\n"
    "ORIGINATOR \"a bench\"\n"
    "KEYWORD \"THICKNESS_MM\"\n"
    "MEASUREMENT_GEOMETRY \"45/0\"\n"
    "SPECTRAL_NORM 100\n"
    "NUMBER_OF_FIELDS 12\n"
    "BEGIN_DATA_FORMAT\n"
    "SAMPLE_ID SAMPLE_NAME SAMPLE_BACKING THICKNESS_MM CONTACT VALUE LIT_MM SEEN_MM XYZ_Y\n"
    "SPECTRAL_NM400 SPECTRAL_NM420 SPECTRAL_NM440\n"
    "END_DATA_FORMAT\n"
    "NUMBER_OF_SETS 4\n"
    "BEGIN_DATA\n"
    "1 \"\" black \"\" \"\" external \"\" \"\" 4 4 5 6\n"
    "2 \"\" white \"\" \"\" external \"\" \"\" 80 80 82 84\n"
    "3 disc black 1.05 contact \"\" 8 4 30 30 32 34\n"
    "4 disc white 1.05 contact \"\" 8 4 50 50 52 54\n"
    "END_DATA\n";

TEST(DrawdownTable, Iso28178IsReadFromItsFieldsAndKeywords) {
  expect_as_plain(parsed(cgats));
  // Values above what fractions can be are percent, and a name in percent says so.
  std::string text(cgats);
  replace(text, "SPECTRAL_NORM 100\n", "");
  expect_as_plain(parsed(text));
  for (const char* nm : {"400", "420", "440"}) {
    replace(text, "SPECTRAL_NM" + std::string(nm), "SPECTRAL_PCT" + std::string(nm));
  }
  expect_as_plain(parsed(text));
}

TEST(DrawdownTable, Iso28178TablesStandTogether) {
  std::string text(cgats);
  replace(text, "NUMBER_OF_SETS 4\n", "");
  replace(text, "3 disc",
          "END_DATA\n"
          "BEGIN_DATA_FORMAT\n"
          "SAMPLE_ID SAMPLE_NAME SAMPLE_BACKING THICKNESS_MM CONTACT VALUE LIT_MM SEEN_MM XYZ_Y\n"
          "SPECTRAL_NM400 SPECTRAL_NM420 SPECTRAL_NM440\n"
          "END_DATA_FORMAT\n"
          "BEGIN_DATA\n"
          "3 disc");
  expect_as_plain(parsed(text));
}

TEST(DrawdownTable, AllFaultsOfIso28178AreTold) {
  std::string text(cgats);
  replace(text, "1.05 contact \"\" 8 4 30 30", "thick glued \"\" 8 4 30 nan");
  replace(text, "4 disc white 1.05", "4 disc white");
  const std::string told = fault(text);
  EXPECT_THAT(told, HasSubstr("line 15, field THICKNESS_MM: thickness_mm must be a number"));
  EXPECT_THAT(told, HasSubstr("line 15, field CONTACT: contact must be contact"));
  EXPECT_THAT(told, HasSubstr("line 15, field SPECTRAL_NM400: a reflectance must be a number"));
  EXPECT_THAT(told, HasSubstr("line 16: has 11 values where the data format has 12"));
  text = cgats;
  replace(text, "MEASUREMENT_GEOMETRY \"45/0\"\n", "");
  EXPECT_THAT(fault(text), HasSubstr("the field geometry is missing"));
}

std::string cxf_object(const std::string& id, const std::string& name,
                       const std::vector<std::array<std::string, 2>>& tags,
                       const std::string& values) {
  std::string text = R"(<cc:Object ObjectType="Target" Name=")" + name + R"(" Id=")" + id +
                     R"("><cc:ColorValues><cc:ReflectanceSpectrum ColorSpecification="s">)" +
                     values + "</cc:ReflectanceSpectrum></cc:ColorValues><cc:TagCollection>";
  for (const auto& [tag, value] : tags) {
    text += R"(<cc:Tag Name=")" + tag + R"(" Value=")" + value + R"("/>)";
  }
  return text + "</cc:TagCollection></cc:Object>";
}

std::string cxf_of(const std::string& objects, const std::string& measurement) {
  return R"(<?xml version="1.0"?><cc:CxF xmlns:cc="http://colorexchangeformat.com/CxF3-core">)"
         "<cc:Resources><cc:ObjectCollection>" +
         objects +
         R"(</cc:ObjectCollection><cc:ColorSpecificationCollection><cc:ColorSpecification Id="s">)"
         "<cc:MeasurementSpec>" +
         measurement +
         R"(<cc:WavelengthRange StartWL="400" Increment="20"/></cc:MeasurementSpec>)"
         "</cc:ColorSpecification></cc:ColorSpecificationCollection></cc:Resources></cc:CxF>";
}

constexpr const char* at_45 =
    "<cc:MeasurementType>Spectrum_Reflectance</cc:MeasurementType><cc:GeometryChoice>"
    "<cc:SingleAngle><cc:IlluminationAngle>45</cc:IlluminationAngle>"
    "<cc:MeasurementAngle>0.0</cc:MeasurementAngle></cc:SingleAngle></cc:GeometryChoice>";

std::string cxf_objects(const std::string& thickness = "1.05",
                        const std::string& contact = "contact", const std::string& first = "0.30") {
  std::string text = cxf_object("1", "black", {{"Value", "external"}}, "0.04 0.05 0.06") +
                     cxf_object("2", "white", {{"Value", "external"}}, "0.80 0.82 0.84");
  int id = 2;
  for (const char* backing : {"black", "white"}) {
    const bool dark = ++id == 3;
    text += cxf_object(std::to_string(id), "disc",
                       {{"Thickness_mm", dark ? thickness : "1.05"},
                        {"Backing", backing},
                        {"Contact", dark ? contact : "contact"},
                        {"Lit_mm", "8"},
                        {"Seen_mm", "4"},
                        {"Operator", "n"},
                        {"Shelf", "3"}},
                       dark ? first + " 0.32 0.34" : "0.50 0.52 0.54");
  }
  return text;
}

TEST(DrawdownTable, Cxf3IsReadFromItsTagsAndMeasurement) {
  expect_as_plain(parsed(cxf_of(cxf_objects(), at_45)));
  const std::string sphere =
      "<cc:GeometryChoice><cc:SphereGeometry>Specular_Excluded</cc:SphereGeometry>"
      "</cc:GeometryChoice>";
  EXPECT_EQ(parsed(cxf_of(cxf_objects(), sphere)).front().geometry, Geometry::diffuse_8_excluded);
}

TEST(DrawdownTable, AllFaultsOfCxf3AreTold) {
  const std::string told = fault(cxf_of(cxf_objects("thick", "glued", "nan"), at_45));
  EXPECT_THAT(told, HasSubstr("object \"disc\", tag Thickness_mm: thickness_mm must be a number"));
  EXPECT_THAT(told, HasSubstr("object \"disc\", tag Contact: contact must be contact"));
  EXPECT_THAT(told, HasSubstr("object \"disc\", wavelength 400: a reflectance must be a number"));
  EXPECT_THAT(fault(cxf_of(cxf_objects(), "")),
              HasSubstr("object \"black\", tag Geometry: geometry must be"));
  // A regular transmittance is not a total one.
  EXPECT_THAT(fault(cxf_of(cxf_objects(),
                           "<cc:MeasurementType>Spectrum_Transmittance</cc:MeasurementType>")),
              HasSubstr("got \"Spectrum_Transmittance\""));
}

TEST(DrawdownTable, ColoursUnderAnotherViewingAreRefused) {
  constexpr std::string_view colours =
      "ISO28178\nILLUMINANT D50\nOBSERVER \"2\"\nBEGIN_DATA_FORMAT\n"
      "SPECIMEN THICKNESS_MM BACKING GEOMETRY CONTACT VALUE LAB_L LAB_A LAB_B\nEND_DATA_FORMAT\n"
      "BEGIN_DATA\n\"\" \"\" black 45/0 \"\" external 24 0 0\n"
      "disc 1 black 45/0 contact \"\" 66 -1 7\nEND_DATA\n";
  EXPECT_THAT(fault(colours), HasSubstr("its colours are stated under D50/2, not under D65/2"));
  EXPECT_EQ(parse_drawdowns(colours, "t", viewing_from_string("D50/2")).size(), 1U);
}

constexpr std::string_view passing =
    "specimen,thickness_mm,geometry,400,420,440\n"
    "thin,0.5,transmittance,0.5,0.51,0.52\n"
    "thick,2,transmittance,0.2,0.21,0.22\n";

TEST(DrawdownTable, TransmittancesHaveNothingBehindThem) {
  const auto read = parsed(passing);
  ASSERT_EQ(read.size(), 2U);
  EXPECT_EQ(read.front().geometry, Geometry::transmittance);
  EXPECT_EQ(read.front().contact, Backing::air_gap);
  EXPECT_EQ(read.front().backing.values(), (std::vector<double>{0, 0, 0}));
  EXPECT_EQ(read.back().measured.values(), (std::vector<double>{0.2, 0.21, 0.22}));

  std::string both(plain_table);
  both += "disc,1.05,,Transmission,,,,,0.4,0.41,0.42\n";
  EXPECT_EQ(parsed(both).back().geometry, Geometry::transmittance);
  both += "disc,1.05,black,transmittance,contact,,8,4,0.4,0.41,2.42\n";
  const std::string told = fault(both);
  EXPECT_THAT(told, HasSubstr("line 7: a transmittance has nothing behind the specimen"));
  EXPECT_THAT(told, HasSubstr("line 7: with nothing behind the specimen leave the contact empty"));
  EXPECT_THAT(told, HasSubstr("leave lit_mm and seen_mm empty"));
  EXPECT_THAT(told, HasSubstr("line 7, column 440: a transmittance must be a number"));
  std::string mixed(passing);
  mixed += "thick,2,45/0,0.2,0.21,0.22\n";
  EXPECT_THAT(fault(mixed), HasSubstr("the column backing is missing"));
}

TEST(DrawdownTable, NothingBehindIsABackingToo) {
  std::string text(plain_table);
  text += "disc,1.05,none,45/0,,,8,4,0.2,0.21,0.22\n";
  const Drawdown one = parsed(text).back();
  EXPECT_EQ(one.contact, Backing::air_gap);
  EXPECT_EQ(one.backing[0], 0);
}

TEST(DrawdownTable, TheTemplateIsReadOnceItIsFilled) {
  std::string text = drawdown_template({.thicknesses_mm = {0.5, 1},
                                        .geometry = "45/0",
                                        .grid = Grid{400, 20, 3},
                                        .repeats = 1,
                                        .transmittance = true});
  for (std::size_t at = text.find(",,,\n"); at != std::string::npos; at = text.find(",,,\n", at)) {
    text.replace(at, 4, ",0.3,0.3,0.3\n");
  }
  const auto read = parsed(text);
  ASSERT_EQ(read.size(), 6U);
  EXPECT_EQ(read[1].geometry, Geometry::angle_45_0);
  EXPECT_EQ(read[2].geometry, Geometry::transmittance);
  EXPECT_EQ(read[5].thickness_mm, 1);
}

}  // namespace
}  // namespace mamelon
