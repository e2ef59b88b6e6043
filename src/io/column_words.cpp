#include "io/column_words.h"

#include <algorithm>
#include <array>

#include "mamelon/error.h"

#include "io/text_stream.h"

namespace mamelon::detail {
namespace {

// Letters of Latin-1 without their accents, from À to ÿ.
constexpr std::string_view plain_letters =
    "aaaaaaaceeeeiiiidnooooo*ouuuuypsaaaaaaaceeeeiiiidnooooo/ouuuuypy";

constexpr std::array readings{
    Meaning{"label",
            "label tab name samplename muster bezeichnung nom etiquette nombre etiqueta nome "
            "etichetta naam sample specimen probe farbmuster echantillon teinte muestra campione "
            "amostra monster staal shade zahnfarbe farbe sampleid id"},
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

}  // namespace

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

std::size_t place_of(std::string_view word, std::string_view list) {
  for (std::size_t at = list.find(word); at != std::string_view::npos;
       at = list.find(word, at + 1)) {
    const std::size_t end = at + word.size();
    if ((at == 0 || list[at - 1] == ' ') && (end == list.size() || list[end] == ' ')) return at;
  }
  return std::string_view::npos;
}

std::string_view canonical_of(std::string_view word, std::span<const Meaning> meanings) {
  if (word.empty()) return {};
  for (const Meaning& meaning : meanings) {
    if (place_of(word, meaning.words) != std::string_view::npos) return meaning.canonical;
  }
  return {};
}

std::span<const Meaning> reading_columns() {
  return readings;
}

void take_names(std::vector<std::string_view>& meanings, const std::vector<std::string>& header,
                const ColumnNames& names, std::span<const Meaning> known, std::string_view can_mean,
                const std::string& where) {
  for (const auto& [meaning, called] : names) {
    const std::string& name = called;  // clang 14 does not capture a binding
    const std::string_view canonical = canonical_of(word_of(meaning), known);
    if (canonical.empty()) {
      throw ArgumentError("no column can mean \"" + meaning.substr(0, 40) + "\"; known are " +
                          std::string(can_mean));
    }
    const auto found = std::find_if(header.begin(), header.end(), [&](const std::string& text) {
      return to_utf8(text) == name || word_of(text) == word_of(name);
    });
    if (found == header.end()) {
      throw ArgumentError(where + ": no column is called \"" + name.substr(0, 60) + "\"");
    }
    // What else seems to mean the same gives way.
    std::replace(meanings.begin(), meanings.end(), canonical, std::string_view("given way"));
    meanings[static_cast<std::size_t>(found - header.begin())] = canonical;
  }
}

}  // namespace mamelon::detail
