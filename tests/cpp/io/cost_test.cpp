// What a file costs: memory under a limit of the kernel, work counted and held to grow as the file.

#include <cstddef>
#include <fstream>
#include <functional>
#include <sstream>
#include <string>

#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <sys/stat.h>

#include "mamelon/error.h"
#include "mamelon/exchange.h"
#include "mamelon/files.h"
#include "mamelon/limits.h"

#include "io/csv.h"
#include "limited_memory.h"
#include "temporary_folder.h"

namespace mamelon {
namespace {

using testing::HasSubstr;

constexpr std::size_t mib = std::size_t{1} << 20U;
// Beside what a reader may take: threads' stacks and what the C library keeps.
constexpr std::size_t slack = 64 * mib;

std::string repeated(const std::string& text, std::size_t count) {
  std::string out;
  out.reserve(text.size() * count);
  for (std::size_t i = 0; i < count; ++i) out += text;
  return out;
}

void expect_within_limit(const std::function<void()>& work, Outcome wanted) {
  if (!memory_can_be_limited) GTEST_SKIP() << "sanitizers need their own memory";
  EXPECT_EQ(within_memory(limits::memory_bytes + slack, work), wanted);
}

TEST(Memory, ACsvOfMoreReadingsThanFitIsRefused) {
  const std::string csv = "label,L,a,b\n" + repeated("r,70,1,15\n", 3'000'000);
  expect_within_limit([&] { (void)parse_measurements(csv, "t.csv", {}); }, Outcome::refused);
}

TEST(Memory, AsManyReadingsAsFitAreRead) {
  const std::string csv = "label,L,a,b\n" + repeated("r,70,1,15\n", 300'000);
  expect_within_limit([&] { (void)parse_measurements(csv, "t.csv", {}); }, Outcome::read);
}

TEST(Memory, ColoursOfThreeMillionRowsAreRead) {
  const TemporaryFolder folder;
  const auto file = folder.path() / "t.csv";
  std::ofstream(file) << "label,L,a,b\n" << repeated("r,70,1,15\n", 3'000'000);
  expect_within_limit(
      [&] {
        if (read_colours(file, {}).lab.size() != 3'000'000) throw std::runtime_error("rows lost");
      },
      Outcome::read);
}

TEST(Memory, SpectraOfManyBands) {
  std::string csv = "label";
  std::string row = "r";
  for (int nm = 380; nm <= 780; ++nm) {
    csv += "," + std::to_string(nm);
    row += ",.5";
  }
  csv += "\n" + repeated(row + "\n", 200'000);
  expect_within_limit([&] { (void)parse_measurements(csv, "t.csv", {}); }, Outcome::refused);
}

TEST(Memory, AnIso28178Text) {
  const std::string text =
      "ISO28178\nILLUMINANT \"D65\"\nOBSERVER \"2\"\nBEGIN_DATA_FORMAT\nSAMPLE_ID LAB_L LAB_A "
      "LAB_B\nEND_DATA_FORMAT\nBEGIN_DATA\n" +
      repeated("r 70 1 15\n", 3'000'000) + "END_DATA\n";
  expect_within_limit([&] { (void)parse_measurements(text, "t.txt", {}); }, Outcome::refused);
}

TEST(Memory, ACxfFileOfEmptyElements) {
  const std::string xml = "<CxF xmlns=\"http://colorexchangeformat.com/CxF3-core\">" +
                          repeated("<a/>", 8'000'000) + "</CxF>";
  expect_within_limit([&] { (void)parse_measurements(xml, "t.cxf", {}); }, Outcome::refused);
}

TEST(Memory, ADocumentOfEmptyLists) {
  const std::string json = "[" + repeated("[],", 16'000'000) + "[]]";
  expect_within_limit([&] { (void)parse_tab_set(json, "set.json"); }, Outcome::refused);
}

TEST(Memory, ALightOfManyRows) {
  std::string csv = "wavelength_nm,power\n";
  for (int i = 0; i < 1'000'000; ++i) csv += std::to_string(300 + i * 1e-3) + ",1\n";
  expect_within_limit([&] { (void)parse_power(csv, "light.csv"); }, Outcome::refused);
}

TEST(Memory, AFileOfHolesIsRefused) {
  const TemporaryFolder folder;
  const auto file = folder.path() / "holes.csv";
  std::ofstream(file) << "label,L,a,b\n";
  ASSERT_EQ(::truncate(file.c_str(), 400 * mib), 0);
  expect_within_limit([&] { (void)read_measurements(file, {}); }, Outcome::refused);
}

TEST(Memory, ANamedPipeIsRefusedAndNotWaitedFor) {
  const TemporaryFolder folder;
  const auto pipe = folder.path() / "pipe.csv";
  ASSERT_EQ(::mkfifo(pipe.c_str(), 0600), 0);
  EXPECT_THROW((void)read_measurements(pipe, {}), IoError);
  EXPECT_THROW((void)read_file(pipe), IoError);
  EXPECT_THROW((void)read_colours(pipe, {}), IoError);
}

// Characters looked at to the end of a table, or to where it is refused.
std::size_t work_of(const std::string& csv) {
  std::istringstream in(csv);
  detail::CsvReader reader(in, "t.csv");
  detail::CsvRow row;
  try {
    while (reader.next(row)) {
    }
  } catch (const DataError&) {
  }
  return reader.characters_visited();
}

TEST(Work, OfACsvGrowsAsTheFile) {
  const std::function<std::string(std::size_t)> tables[] = {
      [](std::size_t n) { return "label,L,a,b\n" + repeated("r,70,1,15\n", n); },
      [](std::size_t n) { return "label,L,a,b\n\"" + repeated("r,70,1,15\n", n); },
      [](std::size_t n) { return "label,L,a,b\n" + repeated("\"r\n\"\"x\n\",70,1,15\n", n); },
      [](std::size_t n) { return "label,L,a,b\n" + repeated("a\"", n); },
      [](std::size_t n) { return "label,L,a,b\n" + repeated(" ", n) + "\"" + repeated("\n", n); },
      [](std::size_t n) { return repeated("%", n); },
      [](std::size_t n) { return "label,L,a,b\r\n" + repeated("\r\n", n); }};
  for (const auto& table : tables) {
    const std::size_t once = work_of(table(40'000));
    const std::size_t twice = work_of(table(80'000));
    EXPECT_LE(twice, 2 * once + 100) << table(3);
    EXPECT_LE(twice, 3 * table(80'000).size()) << table(3);
  }
}

TEST(Work, AnUnclosedQuoteIsRefusedWithinItsRow) {
  const std::string csv = "label,L,a,b\n\"" + repeated("r,70,1,15\n", 400'000);
  std::istringstream in(csv);
  detail::CsvReader reader(in, "t.csv");
  detail::CsvRow row;
  ASSERT_TRUE(reader.next(row));
  EXPECT_THROW((void)reader.next(row), DataError);
  EXPECT_LE(reader.characters_visited(), 3 * limits::table_row_bytes);
}

TEST(Work, TablesOfOneFileAreCounted) {
  std::string text = "ISO28178\nBEGIN_DATA_FORMAT\n";
  for (int i = 0; i < 5000; ++i) text += "F" + std::to_string(i) + " ";
  text += "LAB_L LAB_A LAB_B\nEND_DATA_FORMAT\n" + repeated("BEGIN_DATA\nEND_DATA\n", 20'000);
  try {
    (void)parse_measurements(text, "t.txt", viewing_from_string("D65/2"));
    ADD_FAILURE() << "accepted";
  } catch (const DataError& error) {
    EXPECT_THAT(error.what(), HasSubstr("more than 99 tables"));
  }
}

}  // namespace
}  // namespace mamelon
