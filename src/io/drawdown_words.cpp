#include "io/drawdown_words.h"

#include <algorithm>
#include <array>
#include <vector>

namespace mamelon::detail {
namespace {

constexpr std::array columns = {
    DrawdownColumn{"specimen", "specimen", "the specimen's name, empty for a bare backing"},
    DrawdownColumn{"thicknessmm", "thickness_mm", "a number of mm, for instance 1.02"},
    DrawdownColumn{"thicknesssdmm", "thickness_sd_mm", "a number of mm, for instance 0.02"},
    DrawdownColumn{"backing", "backing", "the backing's name, for instance black, or none"},
    DrawdownColumn{"geometry", "geometry", "45/0, d:8 excluded, d:8 included or transmittance"},
    DrawdownColumn{"contact", "contact", "contact (optical, through a liquid) or air gap"},
    DrawdownColumn{
        "value", "value",
        "external (as an instrument reads it in air) or internal (as seen from inside the paste)"},
    DrawdownColumn{"lowerface", "lower_face", "smooth or rough"},
    DrawdownColumn{"litmm", "lit_mm", "the diameter lit in mm, for instance 8, or endless"},
    DrawdownColumn{"seenmm", "seen_mm", "the diameter seen in mm, for instance 4, or endless"},
    DrawdownColumn{"l", "L", "a number"},
    DrawdownColumn{"a", "a", "a number"},
    DrawdownColumn{"b", "b", "a number"},
};

// Without accents and units. The names of a specimen stand in the order in which they count.
constexpr std::array own_words{
    Meaning{"specimen",
            "specimen probekorper probekoerper prufkorper pruefkoerper eprouvette probeta provino "
            "provete proefstuk disc disk scheibe plattchen disque disco schijf samplename"},
    Meaning{"thicknessmm",
            "thickness dicke schichtdicke probendicke epaisseur espesor spessore espessura dikte "
            "laagdikte"},
    Meaning{"thicknesssdmm",
            "thicknesssd sdthickness thicknessuncertainty dickesd dickensd dickenunsicherheit "
            "epaisseursd incertitudeepaisseur espesorsd incertidumbreespesor spessoresd "
            "incertezzaspessore espessurasd incertezaespessura diktesd onzekerheiddikte"},
    Meaning{"backing", "samplebacking hintergrund unterlage support soporte supporto base"},
    Meaning{"geometry",
            "geometry measurementgeometry geometrie messgeometrie geometriedemesure geometria "
            "geometriademedida geometriadimisura geometriademedicao meetgeometrie"},
    Meaning{"contact", "contact kontakt contacto contatto contato"},
    Meaning{"value", "value wert valeur valor valore waarde"},
    Meaning{"lowerface",
            "lowerface underside unterseite faceinferieure carainferior facciainferiore "
            "faceinferior onderkant onderzijde"},
    Meaning{"litmm", "lit beleuchtet eclaire iluminado illuminato verlicht"},
    Meaning{"seenmm", "seen gesehen vu visto gezien"},
    Meaning{"unused", "unused"},
};

struct CellWord {
  std::string_view column;
  Meaning meaning;
};
constexpr std::array cell_words{
    CellWord{{"backing"}, {"none", "none keiner keine aucun ninguno nessuno nenhum geen"}},
    CellWord{{"contact"}, {"contact", "contact kontakt contacto contatto contato opticalcontact"}},
    CellWord{{"contact"},
             {"airgap",
              "airgap air luftspalt luft lamed'air lamed’air air espaciodeaire aire intercapedine "
              "aria espacodear ar luchtspleet lucht"}},
    CellWord{{"value"}, {"internal", "internal intern interne interno interna"}},
    CellWord{{"value"}, {"external", "external extern externe externo externa esterno esterna"}},
    CellWord{{"lowerface"},
             {"smooth",
              "smooth polished glatt poliert lisse polie liso lisa pulido liscio liscia "
              "lucido polido glad gepolijst"}},
    CellWord{{"lowerface"},
             {"rough",
              "rough ground rau geschliffen rugueux rugueuse rugoso aspero ruvido ruvida "
              "ruw geslepen"}},
    CellWord{{"litmm"}, {"endless", "endless unendlich infini infinito oneindig"}},
    CellWord{{"seenmm"}, {"endless", "endless unendlich infini infinito oneindig"}},
};

struct GeometryWord {
  Geometry geometry;
  std::string_view words;  // without what names the angle of a sphere, d:8 or 8:d
};
// With the notation of CIE 15 (2004): a and x for all round and from one side, de and di for the
// specular part excluded and included. Light may go either way (Helmholtz).
constexpr std::array sphere_words{
    GeometryWord{
        Geometry::diffuse_8_excluded,
        "excluded specularexcluded sce spex ausgeschlossen ohneglanz exclu speculaireexclu "
        "excluido especularexcluido escluso specularescluso excluida uitgesloten"},
    GeometryWord{Geometry::diffuse_8_included,
                 "included specularincluded sci spin eingeschlossen mitglanz inclus "
                 "speculaireinclus incluido especularincluido incluso specularincluso inclusa "
                 "ingesloten"},
};
constexpr std::string_view angle_words =
    "45:0 0:45 45a:0 0:45a 45x:0 0:45x 45c:0 0:45c 45:0annular 45:0circumferential";

// Of all the light; a regular transmittance is another thing.
constexpr std::string_view transmittance_words =
    "transmittance totaltransmittance transmission transmissionsgrad gesamttransmission "
    "transmissiontotale facteurdetransmission transmitancia transmitanciatotal trasmittanza "
    "trasmittanzatotale trasmissione transmissao transmissie totaletransmissie";

// The word as it is, and without a unit of mm that may follow it.
std::vector<std::string> with_and_without_unit(const std::string& word) {
  std::vector<std::string> all{word};
  for (const std::string_view unit : {"mm", "(mm)", "[mm]", "/mm", "inmm", "enmm", "emmm"}) {
    if (word.ends_with(unit)) all.push_back(word.substr(0, word.size() - unit.size()));
  }
  return all;
}

bool among(std::string_view word, std::string_view list) {
  return !word.empty() && place_of(word, list) != std::string_view::npos;
}

void replace_all(std::string& text, std::string_view what, std::string_view by) {
  for (auto at = text.find(what); at != std::string::npos; at = text.find(what, at + by.size())) {
    text.replace(at, what.size(), by);
  }
}

}  // namespace

std::span<const DrawdownColumn> drawdown_columns() {
  return columns;
}

const DrawdownColumn& drawdown_column(std::string_view word) {
  return *std::find_if(columns.begin(), columns.end(),
                       [&](const DrawdownColumn& one) { return one.word == word; });
}

std::string_view drawdown_meaning(const std::string& header) {
  for (const std::string& tried : with_and_without_unit(word_of(header))) {
    const std::string_view own = canonical_of(tried, own_words);
    if (!own.empty()) return own;
    const std::string_view shared = canonical_of(tried, reading_columns());
    if (shared == "label") return "specimen";
    if (among(shared, "l a b backing thicknessmm")) return shared;
    if (among(shared, "x y z zone operator day instrument")) return "unused";
  }
  return {};
}

std::size_t specimen_rank(const std::string& header) {
  const std::string word = word_of(header);
  const std::size_t own = place_of(word, own_words.front().words);
  return own != std::string_view::npos
             ? own
             : own_words.front().words.size() + place_of(word, reading_columns().front().words);
}

std::span<const Meaning> drawdown_meanings() {
  static const std::vector<Meaning> all = [] {
    std::vector<Meaning> meanings;
    for (const DrawdownColumn& column : columns) meanings.push_back({column.word, column.word});
    meanings.push_back({"unused", "unused"});
    return meanings;
  }();
  return all;
}

std::string_view drawdown_can_mean() {
  static const std::string text = [] {
    std::string names;
    for (const DrawdownColumn& column : columns) names += std::string(column.name) + ", ";
    return names + "unused";
  }();
  return text;
}

std::string cell_meaning(std::string_view column, const std::string& word) {
  for (const CellWord& known : cell_words) {
    if (known.column == column && among(word, known.meaning.words)) {
      return std::string(known.meaning.canonical);
    }
  }
  return word;
}

std::optional<Geometry> geometry_of_word(const std::string& text) {
  std::string word = text;
  replace_all(word, "/", ":");
  for (const std::string_view mark : {"°", "(", ")", ","}) replace_all(word, mark, "");
  if (among(word, angle_words)) return Geometry::angle_45_0;
  if (among(word, "de:8 8:de")) return Geometry::diffuse_8_excluded;
  if (among(word, "di:8 8:di")) return Geometry::diffuse_8_included;
  for (const std::string_view sphere : {"d:8", "8:d", "d:0", "0:d"}) {
    if (!word.starts_with(sphere)) continue;
    if (among(word.substr(sphere.size()), transmittance_words)) return Geometry::transmittance;
  }
  if (among(word, transmittance_words)) return Geometry::transmittance;
  for (const std::string_view sphere : {"d:8", "8:d"}) {
    if (word.starts_with(sphere)) {
      word.erase(0, sphere.size());
      break;
    }
  }
  for (const GeometryWord& known : sphere_words) {
    if (among(word, known.words)) return known.geometry;
  }
  return {};
}

}  // namespace mamelon::detail
