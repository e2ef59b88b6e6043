#pragma once
// Options that several verbs share, registered in the same words.

#include <optional>
#include <string>

#include <CLI/CLI.hpp>

#include "mamelon/difference.h"
#include "mamelon/files.h"
#include "mamelon/viewing.h"

namespace mamelon::cli {

// An option whose value is of a kind, such as FILE; what stands in `value` is its default.
template <class T>
CLI::Option* add_value(CLI::App& verb, const std::string& name, const char* kind, T& value,
                       const std::string& help) {
  CLI::Option* const option = verb.add_option(name, value, help)->type_name(kind);
  return value.empty() ? option : option->capture_default_str();
}
// The same, of one that has to be given.
template <class T>
void add_needed(CLI::App& verb, const std::string& name, const char* kind, T& value,
                const std::string& help) {
  add_value(verb, name, kind, value, help)->required();
}

// How spectra become colours: illuminant and observer, or the observer with the user's own light,
// the even steps that uneven spectra are brought to, and what the columns of tables mean.
struct ViewingOptions {
  std::string viewing = "D65/2";
  std::string light;
  std::string resample_nm;
  std::string columns;  // of tables, NAME=HEADER apart by commas
};
// `preset` false: no viewing is stated until the user gives one.
void add_viewing_options(CLI::App& verb, ViewingOptions& options, bool preset = true);
Viewing viewing_of(const ViewingOptions& options);
TableOptions table_options(const ViewingOptions& options);
// Nothing when neither a viewing nor a light is given.
std::optional<Viewing> given_viewing(const ViewingOptions& options);

void add_weights_option(CLI::App& verb, std::string& weights);
void add_sheet_option(CLI::App& verb, std::string& sheet);
void add_label_option(CLI::App& verb, std::string& label, const std::string& description);
// For verbs that write a CSV for spreadsheets.
void add_plain_csv_flag(CLI::App& verb, bool& plain);
void add_json_flag(CLI::App& verb, bool& json);

// Throws IoError when a file that is to be written at the end of the work cannot be: said before
// the work, not after it. Nothing for an empty name.
void check_output(const std::string& file);

void add_replace_flag(CLI::App& verb, bool& replace);

// Writes a file of the person's own; throws ArgumentError, naming the option, where another content
// stands there already and `replace` is not asked for: nothing of theirs is lost in silence. Empty:
// the verb has no such flag.
void write_new_file(const std::string& option, const std::string& file, const std::string& content,
                    std::optional<bool> replace = {});

// Writes a sheet for `--sheet`. Takes the place of an earlier sheet, and throws ArgumentError where
// another file stands.
void write_sheet(const std::string& file, const std::string& html);

// `name` is "PASTES" for an argument or "--pastes" for an option.
void add_pastes_option(CLI::App& verb, const std::string& name, std::string& pastes);

// The floor that the layers stand on.
struct FloorOptions {
  std::string floor;
  std::string index = "1.54";
  bool specular_included = false;
};
// `what_was_read` is what is with or without the surface's gloss, such as "Floor and result are".
void add_floor_options(CLI::App& verb, FloorOptions& options, const std::string& what_was_read);
double floor_index_of(const FloorOptions& options);

}  // namespace mamelon::cli
