#include "io/columns.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <numeric>
#include <utility>

#include "mamelon/error.h"

#include "base/numbers.h"
#include "io/data_error.h"
#include "io/text_stream.h"

namespace mamelon::detail {
namespace {

std::string lowered(std::string_view text) {
  std::string out;
  for (const char c : text) {
    if (c >= 'A' && c <= 'Z') {
      out += static_cast<char>(c - 'A' + 'a');
    } else if (c != ' ' && c != '_' && c != '-' && c != '*' && c != '"') {
      out += c;
    }
  }
  return out;
}

bool starts(std::string_view text, std::string_view prefix) {
  return text.substr(0, prefix.size()) == prefix;
}

// Letters of Latin-1 without their accents, from À to ÿ.
constexpr std::string_view plain_letters =
    "aaaaaaaceeeeiiiidnooooo*ouuuuypsaaaaaaaceeeeiiiidnooooo/ouuuuypy";

// A header as one word: lower case, without blanks and accents.
std::string word_of(const std::string& header) {
  const std::string text = to_utf8(header);
  std::string plain;
  for (std::size_t i = 0; i < text.size(); ++i) {
    const auto lead = static_cast<unsigned char>(text[i]);
    const auto next = i + 1 < text.size() ? static_cast<unsigned char>(text[i + 1]) : 0U;
    if (lead == 0xC3 && next >= 0x80 && next <= 0xBF) {
      plain += plain_letters[next - 0x80U];
      ++i;
    } else {
      plain += text[i];
    }
  }
  return lowered(plain);
}

// What headers mean, in the languages of benches that export them. Of several names the one that
// stands first here is the label.
struct Meaning {
  std::string_view canonical;
  std::string_view words;  // apart by blanks
};
constexpr std::array meanings{
    Meaning{"label",
            "label tab name samplename muster bezeichnung nom etiquette nombre etiqueta nome "
            "etichetta naam sample specimen probe farbmuster echantillon teinte muestra campione "
            "amostra monster staal sampleid id"},
    Meaning{"zone", "zone bereich zona"},
    Meaning{"l", "l labl ciel"},
    Meaning{"a", "a laba ciea"},
    Meaning{"b", "b labb cieb"},
    Meaning{"x", "x xyzx"},
    Meaning{"y", "y xyzy"},
    Meaning{"z", "z xyzz"},
    Meaning{"operator",
            "operator bediener prufer pruefer untersucher operateur operador operatore"},
    Meaning{"day", "day date tag datum messtag jour dia fecha giorno data dag"},
    Meaning{"instrument",
            "instrument device gerat geraet messgerat appareil instrumento aparato strumento "
            "toestel apparaat"},
    Meaning{"illuminant", "illuminant lichtart iluminante illuminante lichtsoort"},
    Meaning{"observer",
            "observer beobachter normalbeobachter observateur observador osservatore waarnemer"},
    Meaning{"viewing", "viewing"},
    Meaning{"backing", "backing untergrund fond fondo fundo sfondo ondergrond"},
    Meaning{"thicknessmm",
            "thicknessmm thickness(mm) thickness[mm] dickemm dicke(mm) dicke[mm] epaisseurmm "
            "epaisseur(mm) espesormm espesor(mm) spessoremm spessore(mm) espessuramm diktemm"},
};

// Place of a word in a list of words, or npos.
std::size_t place_of(std::string_view word, std::string_view list) {
  for (std::size_t at = list.find(word); at != std::string_view::npos;
       at = list.find(word, at + 1)) {
    const std::size_t end = at + word.size();
    if ((at == 0 || list[at - 1] == ' ') && (end == list.size() || list[end] == ' ')) return at;
  }
  return std::string_view::npos;
}

std::string_view canonical_of(std::string_view word) {
  if (word.empty()) return {};
  for (const Meaning& meaning : meanings) {
    if (place_of(word, meaning.words) != std::string_view::npos) return meaning.canonical;
  }
  return {};
}

std::size_t label_rank(const std::string& header) {
  return place_of(word_of(header), meanings.front().words);
}

// What every header means: what the user says, else its own word.
std::vector<std::string_view> meanings_of(const std::vector<std::string>& header,
                                          const ColumnNames& names, const std::string& where) {
  std::vector<std::string_view> out;
  for (const std::string& text : header) out.push_back(canonical_of(word_of(text)));
  for (const auto& [meaning, called] : names) {
    const std::string& name = called;  // clang 14 does not capture a binding
    const std::string_view canonical = canonical_of(word_of(meaning));
    if (canonical.empty()) {
      throw ArgumentError("no column can mean \"" + meaning.substr(0, 40) +
                          "\"; known are tab, zone, L, a, b, X, Y, Z, operator, day, instrument, "
                          "illuminant, observer, viewing, backing and thickness_mm");
    }
    const auto found = std::find_if(header.begin(), header.end(), [&](const std::string& text) {
      return to_utf8(text) == name || word_of(text) == word_of(name);
    });
    if (found == header.end()) {
      throw ArgumentError(where + ": no column is called \"" + name.substr(0, 60) + "\"");
    }
    // What else seems to mean the same gives way.
    std::replace(out.begin(), out.end(), canonical, std::string_view("given way"));
    out[static_cast<std::size_t>(found - header.begin())] = canonical;
  }
  return out;
}

// Whether every wavelength is the grid's, rounded to a whole number.
bool agrees(const Grid& grid, const std::vector<double>& nm) {
  if (grid.count != nm.size()) return false;
  for (std::size_t i = 0; i < nm.size(); ++i) {
    if (std::abs(grid.wavelength_nm(i) - nm[i]) > 0.51) return false;
  }
  return true;
}

}  // namespace

std::optional<double> wavelength_of(std::string_view header) {
  constexpr std::size_t longest = 64;
  if (header.size() > longest) return {};
  std::string text = lowered(header);
  for (const std::string_view unit : {"%", "[]", "()"}) {
    for (auto at = text.find(unit); at != std::string::npos; at = text.find(unit)) {
      text.erase(at, unit.size());
    }
  }
  for (const std::string_view prefix :
       {"spectral", "spec", "wavelength", "pct", "dec", "nm", "r", "λ"}) {
    if (starts(text, prefix)) text.erase(0, prefix.size());
  }
  for (const std::string_view suffix : {"(nm)", "[nm]", "nm"}) {
    if (text.ends_with(suffix)) text.erase(text.size() - suffix.size());
  }
  if (text.empty() || text.find_first_not_of("0123456789.") != std::string::npos) return {};
  const auto value = parse_number(text);
  if (!value || *value < 200 || *value > 2500) return {};
  return value;
}

Grid grid_of(const std::vector<double>& rising_nm, const std::string& where) {
  if (rising_nm.size() < 3) {
    throw DataError(where + ": a spectrum needs at least 3 wavelengths, got " +
                    std::to_string(rising_nm.size()));
  }
  const double step =
      (rising_nm.back() - rising_nm.front()) / static_cast<double>(rising_nm.size() - 1);
  const Grid grid{rising_nm.front(), step, rising_nm.size()};
  for (std::size_t i = 0; i < rising_nm.size(); ++i) {
    if (std::abs(rising_nm[i] - grid.wavelength_nm(i)) > 1e-3) {
      throw DataError(where + ": the wavelengths are not evenly spaced (" +
                      format_short(rising_nm[i == 0 ? 0 : i - 1], 6) + ", " +
                      format_short(rising_nm[i], 6) +
                      " nm); give the spectrum at equal steps, or ask for it to be resampled");
    }
  }
  if (step > 20) {
    throw DataError(where + ": the wavelengths are " + format_short(step, 5) +
                    " nm apart; steps of at most 20 nm are needed");
  }
  return grid;
}

Grid grid_within(const std::vector<double>& rising_nm, double step_nm, const std::string& where) {
  constexpr double widest_nm = 20;
  if (!(step_nm > 0 && step_nm <= widest_nm)) {
    throw ArgumentError("spectra can be resampled to steps above 0 and of at most 20 nm, not " +
                        format_short(step_nm, 6));
  }
  for (std::size_t i = 1; i < rising_nm.size(); ++i) {
    if (rising_nm[i] - rising_nm[i - 1] > widest_nm) {
      throw DataError(where + ": nothing is known between " + format_short(rising_nm[i - 1], 6) +
                      " and " + format_short(rising_nm[i], 6) +
                      " nm; steps of at most 20 nm are needed");
    }
  }
  constexpr double slack = 1e-9;
  const double first = std::ceil(rising_nm.front() / step_nm - slack);
  const double last = std::floor(rising_nm.back() / step_nm + slack);
  if (rising_nm.size() < 3 || last - first < 2) {
    throw DataError(where +
                    ": a spectrum needs at least 3 wavelengths, before and after it is "
                    "resampled");
  }
  return {first * step_nm, step_nm, static_cast<std::size_t>(last - first) + 1};
}

void check_visible(const Grid& grid, const std::string& where) {
  // A colour is what reaches the eye between 400 and 700 nm; what a curve leaves out is taken to go
  // on as it ends, which holds for a little.
  constexpr double from_nm = 430;
  constexpr double to_nm = 670;
  if (grid.first_nm <= from_nm && grid.last_nm() >= to_nm) return;
  throw DataError(where + ": the wavelengths do not cover what the eye sees (" +
                  format_short(grid.first_nm, 6) + " to " + format_short(grid.last_nm(), 6) +
                  " nm); give 400 to 700 nm, at the least 430 to 670 nm");
}

Columns columns_of(const std::vector<std::string>& header, const std::string& where,
                   const Bands& given, const ColumnNames& names) {
  Columns columns;
  columns.count = header.size();
  std::vector<std::pair<double, std::size_t>> bands;
  const auto take = [&](std::optional<std::size_t>& slot, std::size_t i, std::string_view meaning) {
    if (slot) {
      throw DataError(where + ": columns \"" + header[*slot] + "\" and \"" + header[i] +
                      "\" both mean " + std::string(meaning) + "; keep one");
    }
    slot = i;
    columns.meanings.push_back({header[i], std::string(meaning)});
  };
  const auto take_label = [&](std::size_t i) {
    constexpr std::string_view passed_over = "a second name, not used";
    if (!columns.label || label_rank(header[i]) == label_rank(header[*columns.label])) {
      take(columns.label, i, "the label");
    } else if (label_rank(header[i]) < label_rank(header[*columns.label])) {
      columns.meanings[*columns.label].meaning = passed_over;
      columns.label.reset();
      take(columns.label, i, "the label");
    } else {
      columns.meanings.push_back({header[i], std::string(passed_over)});
    }
  };
  struct Slot {
    std::string_view word;
    std::optional<std::size_t>& column;
    std::string_view meaning;
  };
  const std::array slots{
      Slot{"zone", columns.zone, "the zone"},
      Slot{"l", columns.l, "CIELAB L*"},
      Slot{"a", columns.a, "CIELAB a*"},
      Slot{"b", columns.b, "CIELAB b*"},
      Slot{"x", columns.x, "tristimulus X"},
      Slot{"y", columns.y, "tristimulus Y"},
      Slot{"z", columns.z, "tristimulus Z"},
      Slot{"operator", columns.operator_name, "who read it"},
      Slot{"day", columns.day, "the day"},
      Slot{"instrument", columns.instrument, "the instrument"},
      Slot{"illuminant", columns.illuminant, "the illuminant of the colour"},
      Slot{"observer", columns.observer, "the observer of the colour"},
      Slot{"viewing", columns.viewing, "illuminant and observer of the colour"},
      Slot{"backing", columns.backing, "what lay behind the specimen"},
      Slot{"thicknessmm", columns.thickness_mm, "the specimen's thickness in mm"},
  };
  const std::vector<std::string_view> words = meanings_of(header, names, where);
  for (std::size_t i = 0; i < header.size(); ++i) {
    const std::string_view word = words[i];
    const auto slot =
        std::find_if(slots.begin(), slots.end(), [&](const Slot& one) { return one.word == word; });
    if (slot != slots.end()) {
      take(slot->column, i, slot->meaning);
    } else if (word == "label") {
      take_label(i);
    } else if (const auto nm = wavelength_of(header[i])) {
      bands.emplace_back(*nm, i);
      if (header[i].find('%') != std::string::npos ||
          lowered(header[i]).find("pct") != std::string::npos) {
        columns.set_percent();
      }
      columns.meanings.push_back({header[i], "reflectance at " + format_short(*nm, 6) + " nm"});
    } else {
      columns.meanings.push_back({header[i], "not understood, not used"});
    }
  }
  if (!bands.empty()) {
    const bool falling = bands.size() > 1 && bands.front().first > bands.back().first;
    if (falling) std::reverse(bands.begin(), bands.end());
    std::vector<double>& nm = columns.wavelengths_nm;
    for (const auto& [wavelength, i] : bands) {
      if (!nm.empty() && wavelength <= nm.back()) {
        throw DataError(where + ": the wavelength columns do not rise steadily (" +
                        format_short(nm.back(), 6) + ", then " + format_short(wavelength, 6) +
                        " nm); give each wavelength once and in order");
      }
      nm.push_back(wavelength);
      columns.bands.push_back(i);
    }
    if (given.stated && agrees(*given.stated, nm)) {
      for (std::size_t i = 0; i < nm.size(); ++i) nm[i] = given.stated->wavelength_nm(i);
    }
    columns.resampled = given.resample_nm.has_value();
    columns.grid =
        columns.resampled ? grid_within(nm, *given.resample_nm, where) : grid_of(nm, where);
    check_visible(columns.grid, where);
    as_data_error(where + ": ", [&] { check_grid(columns.grid); });
  }
  const bool part_lab = columns.l || columns.a || columns.b;
  if (part_lab && !columns.has_lab() && !columns.has_curve()) {
    throw DataError(where + ": the header has only some of the columns L, a, b; give all three");
  }
  if (!columns.has_curve() && !columns.has_lab() && !columns.has_xyz()) {
    throw DataError(where +
                    ": the header names no colour; give columns label, L, a, b or label, 380, "
                    "390, … in nm");
  }
  return columns;
}

}  // namespace mamelon::detail
