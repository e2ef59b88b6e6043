// One reader over a file of a stated size, for a program that counts instructions:
//   reader_work make READER N FILE   writes a file of N rows, entries or rows of pixels
//   reader_work read READER FILE     reads it
//   reader_work list                 names the readers

#include <functional>
#include <iostream>
#include <map>
#include <span>
#include <string>
#include <vector>

#include "mamelon/exchange.h"
#include "mamelon/files.h"
#include "mamelon/image.h"
#include "mamelon/paste_report.h"

#include "cpp/capture/encode.h"

namespace mamelon {
namespace {

struct Reader {
  std::function<std::string(std::size_t)> make;
  std::function<void(const std::string&)> read;
};

std::string rows(const std::string& head, std::size_t count, const std::string& tail = "") {
  std::string text = head;
  for (std::size_t i = 0; i < count; ++i) {
    text += "r" + std::to_string(i) + "," + std::to_string(50 + i % 40) + ",1.5,15\n";
  }
  return text + tail;
}

std::vector<Reading> readings(std::size_t count) {
  return parse_table(rows("label,L,a,b\n", count), "made", viewing_from_string("D65/2"));
}

// A quoted cell that never ends, spread over lines: refused, and at what cost.
std::string unclosed(std::size_t count) {
  return rows("label,L,a,b\nr,70,1,15\n\"", count);
}

// A document whose list has so many entries, each with a name of its own.
template <class Document, class Entry>
std::string of_size(Document document, std::vector<Entry> Document::*list, std::size_t count) {
  const std::vector<Entry> known = document.*list;
  (document.*list).clear();
  for (std::size_t i = 0; i < count; ++i) {
    (document.*list).push_back(known[i % known.size()]);
    (document.*list).back().name = "n" + std::to_string(i);
  }
  return to_json(document);
}

std::string tabs(std::size_t count) {
  return of_size(read_tab_set(MAMELON_DATA_DIR "/tabs/orchard16.json"), &TabSet::tabs, count);
}

std::string pastes(std::size_t count) {
  return of_size(read_paste_set(MAMELON_DATA_DIR "/pastes/orchard10.json"), &PasteSet::pastes,
                 count);
}

std::string card(std::size_t count) {
  return of_size(read_card(MAMELON_DATA_DIR "/cards/tooth20_frame.json"), &Card::patches, count);
}

// A list of objects, in a document that is refused.
std::string objects(std::size_t count) {
  std::string text = R"({"format": "mamelon-tab-set", "version": "1.0", "x": [{})";
  for (std::size_t i = 0; i < count; ++i) text += ",{}";
  return text + "]}";
}

std::string curve(std::size_t count) {
  std::string text = "wavelength_nm,reflectance\n";
  for (std::size_t i = 0; i < count; ++i) {
    text +=
        std::to_string(380.0 + 400.0 * static_cast<double>(i) / static_cast<double>(count - 1)) +
        ",0.5\n";
  }
  return text;
}

std::string drawdowns(std::size_t count) {
  std::string text = read_file(MAMELON_DATA_DIR "/pastes/drawdowns_fawn.csv");
  const std::size_t end = text.size();
  const std::size_t last = text.rfind('\n', end - 2) + 1;
  const std::string row = text.substr(last, end - last);
  for (std::size_t i = 0; i < count; ++i) text += row;
  return text;
}

encode::Image8 picture(std::size_t height) {
  encode::Image8 image{400, height, std::vector<std::uint8_t>(3 * 400 * height)};
  for (std::size_t i = 0; i < image.rgb.size(); ++i) {
    image.rgb[i] = static_cast<std::uint8_t>((i * 7 + i / 1200 * 13) % 251);
  }
  return image;
}

std::string text_of(const encode::Bytes& bytes) {
  return {reinterpret_cast<const char*>(bytes.data()), bytes.size()};
}

void read_picture(const std::string& bytes) {
  (void)decode_photo(std::as_bytes(std::span(bytes)), "photo");
}

void refuse(const std::function<void()>& read) {
  try {
    read();
  } catch (const Error&) {
    return;  // what it cost counts
  }
}

const std::map<std::string, Reader>& readers() {
  static const auto table = [](const std::string& text) {
    (void)parse_measurements(text, "made", viewing_from_string("D65/2"));
  };
  static const std::map<std::string, Reader> all = {
      {"csv", {[](std::size_t n) { return rows("label,L,a,b\n", n); }, table}},
      {"csv_unclosed", {unclosed, [](const std::string& t) { refuse([&] { table(t); }); }}},
      {"cgats", {[](std::size_t n) { return to_cgats(readings(n)); }, table}},
      {"cxf", {[](std::size_t n) { return to_cxf(readings(n)); }, table}},
      {"tab_set", {tabs, [](const std::string& t) { (void)parse_tab_set(t, "made"); }}},
      {"objects",
       {objects, [](const std::string& t) { refuse([&] { (void)parse_tab_set(t, "made"); }); }}},
      {"paste_set", {pastes, [](const std::string& t) { (void)parse_paste_set(t, "made"); }}},
      {"card", {card, [](const std::string& t) { refuse([&] { (void)parse_card(t, "made"); }); }}},
      {"curve", {curve, [](const std::string& t) { (void)parse_reflectance(t, "made"); }}},
      {"drawdowns",
       {drawdowns,
        [](const std::string& t) {
          (void)parse_drawdowns(t, "made", viewing_from_string("D65/2"));
        }}},
      {"jpeg", {[](std::size_t n) { return text_of(encode::jpeg(picture(n))); }, read_picture}},
      {"png", {[](std::size_t n) { return text_of(encode::png8(picture(n))); }, read_picture}},
      {"tiff",
       {[](std::size_t n) {
          encode::Image16 image{400, n, std::vector<std::uint16_t>(3 * 400 * n)};
          for (std::size_t i = 0; i < image.rgb.size(); ++i) {
            image.rgb[i] = static_cast<std::uint16_t>(i * 40503);
          }
          return text_of(encode::tiff16(image));
        },
        read_picture}},
      {"case",
       {[](std::size_t n) {
          Case given{.viewing = viewing_from_string("D65/2")};
          given.teeth = {{.readings = readings(n)}};
          return to_zip(given);
        },
        [](const std::string& t) { (void)parse_case(t, "made"); }}}};
  return all;
}

int run(const std::vector<std::string>& words) {
  if (words.size() == 1 && words[0] == "list") {
    for (const auto& [name, reader] : readers()) std::cout << name << '\n';
    return 0;
  }
  if (words.size() == 4 && words[0] == "make") {
    write_file_atomically(words[3], readers().at(words[1]).make(std::stoul(words[2])));
    return 0;
  }
  if (words.size() == 3 && words[0] == "read") {
    readers().at(words[1]).read(read_file(words[2]));
    return 0;
  }
  std::cerr << "see the head of reader_work.cpp\n";
  return 2;
}

}  // namespace
}  // namespace mamelon

int main(int argc, char** argv) {
  return mamelon::run({argv + 1, argv + argc});
}
