// A case as one file: its document, what its sets were read from, and its photos as they are.

#include <algorithm>
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "mamelon/error.h"
#include "mamelon/files.h"
#include "mamelon/limits.h"

#include "base/find.h"
#include "io/json_node.h"
#include "io/json_value.h"
#include "io/zip_archive.h"

namespace mamelon {

namespace detail {
namespace {

// How card, tabs and pastes were read: their documents do not say.
struct CaseSources {
  std::optional<Provenance> card;
  std::optional<Provenance> tabs;
  std::optional<Provenance> pastes;
};

}  // namespace
}  // namespace detail

template <>
struct Fields<detail::CaseSources> {
  static constexpr const char* name = "CaseSources";
  static constexpr const char* format = "mamelon-case-sources";
  static constexpr auto all() {
    using T = detail::CaseSources;
    return FieldList{field("card", &T::card, "how the card was read"),
                     field("tabs", &T::tabs, "how the tab set was read"),
                     field("pastes", &T::pastes, "how the paste set was read")};
  }
};

namespace {

constexpr const char* document_part = "case.json";
constexpr const char* sources_part = "sources.json";
constexpr const char* record_part = "record.json";
constexpr const char* files_folder = "files/";
// A practice's record of years has a photo a visit.
constexpr std::size_t most_parts = 1000;

// The photos of a case, in a fixed order.
template <class C>
auto photos_of(C& given) {
  std::vector<decltype(&*given.photo)> photos;
  if (given.photo) photos.push_back(&*given.photo);
  if (given.blank_white) photos.push_back(&*given.blank_white);
  if (given.restoration && given.restoration->floor.photo) {
    photos.push_back(&*given.restoration->floor.photo);
  }
  for (auto& try_in : given.try_ins) {
    if (try_in.photo) photos.push_back(&*try_in.photo);
  }
  return photos;
}

}  // namespace

std::string to_zip(const Case& given) {
  detail::CaseSources sources;
  if (given.card) sources.card = given.card->provenance;
  if (given.tabs) sources.tabs = given.tabs->provenance;
  if (given.restoration) sources.pastes = given.restoration->pastes.provenance;
  Case listed = given;
  listed.lights = own_lights(given);
  std::vector<detail::ZipPart> parts = {{document_part, detail::write_described(listed)},
                                        {sources_part, detail::write_described(sources)}};
  for (const CasePhoto* photo : photos_of(given)) {
    const std::string name = files_folder + photo->file.sha256();
    if (std::any_of(parts.begin(), parts.end(),
                    [&](const detail::ZipPart& part) { return part.name == name; })) {
      continue;
    }
    const auto& bytes = photo->file.bytes();
    parts.push_back({name, std::string(reinterpret_cast<const char*>(bytes.data()), bytes.size())});
  }
  return detail::write_zip(parts);
}

Case parse_case(std::string_view zip, const std::string& source) {
  std::vector<detail::ZipPart> parts =
      detail::read_zip(zip, source, most_parts, limits::photo_bytes);
  const auto part = [&](const std::string& name) -> const std::string& {
    const auto found = detail::find_by(parts, name, &detail::ZipPart::name);
    if (found == parts.end()) throw DataError(source + ": has no part " + name);
    if (!name.starts_with(files_folder) && found->content.size() > limits::document_bytes) {
      throw DataError(source + ": part " + name + " is larger than what is read");
    }
    return found->content;
  };
  Case given = detail::parse_described<Case>(part(document_part), source + ": " + document_part);
  // Each stands in the place of its name by now.
  given.lights.clear();
  const auto sources = detail::parse_described<detail::CaseSources>(part(sources_part),
                                                                    source + ": " + sources_part);
  if (given.card && sources.card) given.card->provenance = *sources.card;
  if (given.tabs && sources.tabs) given.tabs->provenance = *sources.tabs;
  if (given.restoration && sources.pastes) {
    given.restoration->pastes.provenance = *sources.pastes;
  }
  for (CasePhoto* photo : photos_of(given)) {
    const std::string name = files_folder + photo->file.sha256();
    const std::string& content = part(name);
    const auto bytes = std::as_bytes(std::span(content));
    GivenFile file({bytes.begin(), bytes.end()});
    if (file.sha256() != photo->file.sha256()) {
      throw DataError(source + ": part " + name + " is not the file that its name says");
    }
    photo->file = std::move(file);
    photo->source = source;
  }
  return given;
}

std::optional<std::size_t> outcomes_kept(std::string_view zip, const std::string& source) {
  const std::vector<detail::ZipPart> parts =
      detail::read_zip(zip, source, most_parts, limits::photo_bytes);
  const auto record = detail::find_by(parts, record_part, &detail::ZipPart::name);
  if (record == parts.end()) return std::nullopt;
  const detail::Node document = detail::parse_document(record->content, source + ": " + record_part,
                                                       "mamelon-case-record", 0);
  return document.at("outcomes").items().size();
}

Case read_case(const std::filesystem::path& file) {
  return parse_case(read_file(file, limits::photo_bytes), file.filename().string());
}

void write_case(const std::filesystem::path& file, const Case& given) {
  write_file_atomically(file, to_zip(given));
}

}  // namespace mamelon
