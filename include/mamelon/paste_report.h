#pragma once
/// @file
/// Drawdowns in, and what their fit found out.

#include <filesystem>
#include <map>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "mamelon/description.h"
#include "mamelon/drawdown.h"
#include "mamelon/files.h"
#include "mamelon/opacity.h"

namespace mamelon {

/// Our word → the file's, for columns and cells.
using DrawdownWords = std::map<std::string, std::string>;
/// Drawdowns from a CSV, ISO 28178 (CGATS.17) text or a CxF3 file. Every row (in CxF3: object) is
/// one reading; one without specimen is a bare backing. Columns (fields, tags): `specimen`,
/// `thickness_mm`, `thickness_sd_mm` (optional, 0.02), `backing` (its name, or `none`), `geometry`
/// (`45/0`, `d:8 excluded`, `d:8 included`, or `transmittance`, of which backing and contact stay
/// empty; also as CIE 15 writes them), `contact` (of specimens: `contact` or `air gap`), `value`
/// (of backings: `internal` or `external`), `lower_face` (optional, `smooth` or `rough`, across an
/// air gap), `lit_mm` and `seen_mm` (optional, the instrument's circles, or `endless`), and the
/// wavelengths in nm, or `L`, `a`, `b`; in any order, in English, German, French, Spanish, Italian,
/// Portuguese or Dutch. Repeated rows are repeat readings. A keyword of ISO 28178 text stands for a
/// field that its table does not have; an object of a CxF3 file without a tag `specimen` is called
/// by its name, with a tag `thickness_mm` a specimen, without one a backing, and its measurement
/// may state the geometry. What is missing is an error, not a guess. `viewing` is that of `L`, `a`,
/// `b`; `renamed` gives the file's own words for columns and cells, `options` what columns mean and
/// the steps that uneven spectra are brought to. Throws DataError naming file, place and column of
/// all that is wrong; ArgumentError for colours stated under another viewing and as `TableOptions`
/// has it.
[[nodiscard]] std::vector<Drawdown> read_drawdowns(const std::filesystem::path& file,
                                                   const Viewing& viewing,
                                                   const DrawdownWords& renamed = {},
                                                   const TableOptions& options = {});
[[nodiscard]] std::vector<Drawdown> parse_drawdowns(std::string_view text,
                                                    const std::string& source,
                                                    const Viewing& viewing,
                                                    const DrawdownWords& renamed = {},
                                                    const TableOptions& options = {});

/// The table to fill in.
struct DrawdownTemplate {
  std::vector<double> thicknesses_mm{0.5, 1, 2};  ///< of the specimens
  std::string geometry = "d:8 excluded";          ///< of the instrument
  std::optional<Grid> grid = Grid{400, 10, 31};   ///< empty: L, a, b
  int repeats = 2;                                ///< rows of each reading
  bool transmittance = false;                     ///< of each specimen, too
};
/// A CSV that `parse_drawdowns` reads once its cells are filled. Throws ArgumentError for no
/// thickness, a grid or a number of repeats out of range.
[[nodiscard]] std::string drawdown_template(const DrawdownTemplate& wanted);

/// Everything a fit of one paste found.
struct FitReport {
  std::string label;
  Viewing viewing;
  Paste paste;
  std::vector<Drawdown> drawdowns;
  PasteFit kubelka_munk;
  PasteFit transport;
  Opacity opacity;
  std::vector<std::string> warnings;
};
template <>
struct Fields<FitReport> {
  static constexpr const char* name = "FitReport";
  static FitReport blank() {
    return {.label = {},
            .viewing = mamelon::blank<Viewing>(),
            .paste = {},
            .drawdowns = {},
            .kubelka_munk = {},
            .transport = {},
            .opacity = {},
            .warnings = {}};
  }
  static constexpr auto all() {
    using T = FitReport;
    return FieldList{needed("label", &T::label, "your own title"),
                     needed("viewing", &T::viewing, "of the colours"),
                     needed("paste", &T::paste, "with the constants of both engines"),
                     needed("drawdowns", &T::drawdowns, "as fitted, repeats averaged"),
                     needed("kubelka_munk", &T::kubelka_munk, "the fit by two fluxes"),
                     needed("transport", &T::transport, "the fit by radiative transfer"),
                     needed("opacity", &T::opacity, "by transport"),
                     field("warnings", &T::warnings, "what to know before using it")};
  }
};

/// Fits both engines to one paste's drawdowns (repeats are averaged) and describes it. Throws as
/// `fit_paste`.
[[nodiscard]] FitReport fit_report(const std::string& name, Role role,
                                   const std::vector<Drawdown>& drawdowns, const Viewing& viewing,
                                   double refractive_index = 1.5);

/// The JSON document of `paste fit`.
[[nodiscard]] std::string to_json(const FitReport& report);

/// The JSON document of `paste predict`; `de00` is the difference from a target, where one was
/// given.
[[nodiscard]] std::string to_json(const FittedPrediction& prediction, Engine engine,
                                  std::optional<double> de00);
/// The JSON document of `paste mask`: null where no depth masks.
[[nodiscard]] std::string to_json(const std::optional<Masking>& masking);

/// A disc of cured paste, or of the bare backing, in a photo with the card.
struct PhotographedDisc {
  std::string where;              ///< file and line, for messages
  std::string photo;              ///< name of the file, from the table's folder on
  std::string specimen;           ///< empty: the bare backing
  std::string backing;            ///< its name
  double thickness_mm = 0;        ///< of a specimen
  double thickness_sd_mm = 0.02;  ///< of a specimen
  BoxPx box;                      ///< within the disc
};
/// A table photo,specimen,thickness_mm,thickness_sd_mm,backing,x,y,width,height, pixels of a box.
/// Throws IoError, and DataError naming file, line and column.
[[nodiscard]] std::vector<PhotographedDisc> read_photographed_discs(const std::string& file);

}  // namespace mamelon
