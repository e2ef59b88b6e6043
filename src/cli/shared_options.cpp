#include "cli/shared_options.h"

#include <filesystem>
#include <string_view>
#include <system_error>

#include <unistd.h>

#include "mamelon/error.h"
#include "mamelon/limits.h"
#include "mamelon/provenance.h"

#include "cli/arguments.h"

namespace mamelon::cli {
namespace {

// A light's name is its file's with the start of its digest, so that two lights of one name can be
// told apart wherever the name is printed.
Illuminant light_of(const std::string& file, const TableOptions& options) {
  const std::string text = read_file(file, limits::document_bytes);
  constexpr std::size_t digits = 8;
  return Illuminant(
      std::filesystem::path(file).stem().string() + "@" + sha256_hex(text).substr(0, digits),
      parse_power(text, file, options));
}

}  // namespace

void add_viewing_options(CLI::App& verb, ViewingOptions& options, bool preset) {
  CLI::Option* viewing =
      verb.add_option("--viewing", options.viewing,
                      preset ? "Illuminant and observer (2 or 10 degrees) of every colour"
                             : "Illuminant and observer (2 or 10 degrees); what the file states, "
                               "or else D65/2 for a CSV or spectra, when not given")
          ->type_name("ILL/OBS");
  // Left empty where it is not given, so that a file's own statement can be told from the user's.
  options.viewing.clear();
  if (preset) viewing->default_str("D65/2");
  add_value(verb, "--light", "FILE", options.light,
            "Your own light in place of the illuminant: CSV wavelength_nm,power (relative), or "
            "ISO 28178 text with one spectrum");
  add_value(verb, "--resample", "NM", options.resample_nm,
            "Bring spectra in tables to even steps of this many nm; spectra at uneven "
            "wavelengths are refused when not given");
  add_value(verb, "--columns", "MEANING=HEADER,…", options.columns,
            "What columns of a table mean, where their headers do not say it in one of the "
            "languages that are understood: as \"tab=Farbe Nr.,L=Helligkeit,day=Termin\"");
}

Viewing viewing_of(const ViewingOptions& options) {
  Viewing viewing = viewing_argument(options.viewing.empty() ? "D65/2" : options.viewing);
  if (!options.light.empty()) viewing.illuminant = light_of(options.light, table_options(options));
  return viewing;
}

TableOptions table_options(const ViewingOptions& options) {
  TableOptions table;
  if (!options.resample_nm.empty()) {
    table.resample_nm = number_argument("--resample", options.resample_nm, 0.1, 20);
  }
  if (options.columns.empty()) return table;
  for (const std::string& one : split(options.columns, ',')) {
    table.columns.push_back(pair_argument("--columns", "MEANING=HEADER such as tab=Farbe", one));
  }
  return table;
}

std::optional<Viewing> given_viewing(const ViewingOptions& options) {
  if (options.viewing.empty() && options.light.empty()) return {};
  return viewing_of(options);
}

void add_weights_option(CLI::App& verb, std::string& weights) {
  add_value(verb, "--weights", "L:C:H", weights, "kL:kC:kH of CIEDE2000; 1:1:1 or 2:1:1");
}

void add_sheet_option(CLI::App& verb, std::string& sheet) {
  add_value(verb, "--sheet", "FILE", sheet, "Write the sheet (HTML) to this file");
}

void add_label_option(CLI::App& verb, std::string& label, const std::string& description) {
  add_value(verb, "--label", "TEXT", label, description);
}

void add_plain_csv_flag(CLI::App& verb, bool& plain) {
  verb.add_flag("--plain-csv", plain,
                "No apostrophe before cells of the CSV that a spreadsheet would run as formulas");
}

void add_json_flag(CLI::App& verb, bool& json) {
  verb.add_flag("--json", json, "One JSON document on standard output");
}

void check_output(const std::string& file) {
  if (file.empty()) return;
  namespace fs = std::filesystem;
  std::error_code failed;
  const fs::path folder = fs::absolute(file, failed).parent_path();
  if (!fs::is_directory(folder, failed)) {
    throw IoError(file + ": cannot be written: there is no folder " + folder.string());
  }
  if (fs::is_directory(file, failed)) throw IoError(file + ": cannot be written: it is a folder");
  if (::access(folder.c_str(), W_OK) != 0) {
    throw IoError(file + ": cannot be written: the folder does not allow it");
  }
}

void add_replace_flag(CLI::App& verb, bool& replace) {
  verb.add_flag("--replace", replace, "Overwrite files of these names that hold something else");
}

void write_new_file(const std::string& option, const std::string& file, const std::string& content,
                    std::optional<bool> replace) {
  std::error_code failed;
  if (!replace.value_or(false) && std::filesystem::exists(file, failed)) {
    if (read_file(file) == content) return;
    throw ArgumentError(option + ": " + file + " exists and holds something else; move it away, " +
                        (replace ? "add --replace to overwrite it, " : "") +
                        "or choose another name");
  }
  write_file_atomically(file, content);
}

void write_sheet(const std::string& file, const std::string& html) {
  // All sheets begin alike, up to their titles.
  const std::string_view start = std::string_view(html).substr(0, html.find("<title>"));
  std::error_code failed;
  const bool earlier = std::filesystem::exists(file, failed) && read_file(file).starts_with(start);
  write_new_file("--sheet", file, html, earlier ? std::optional(true) : std::nullopt);
}

void add_pastes_option(CLI::App& verb, const std::string& name, std::string& pastes) {
  add_needed(verb, name, "FILE", pastes, "Your measured pastes (JSON document)");
}

void add_floor_options(CLI::App& verb, FloorOptions& options, const std::string& what_was_read) {
  add_needed(verb, "--floor", "FILE|L,a,b", options.floor,
             "The floor: CSV wavelength_nm,reflectance (0–1, seen in air), or its L*,a*,b*, with "
             "sdL,sda,sdb if you know them");
  add_value(verb, "--floor-index", "N", options.index,
            "Refractive index of the floor; 1.54 is dentine");
  verb.add_flag("--specular-included", options.specular_included,
                what_was_read + " with the surface's gloss included");
}

double floor_index_of(const FloorOptions& options) {
  return number_argument("--floor-index", options.index, 1.01, 2);
}

}  // namespace mamelon::cli
