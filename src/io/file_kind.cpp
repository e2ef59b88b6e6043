// Which files are photos.

#include <algorithm>
#include <array>
#include <filesystem>
#include <string>
#include <string_view>

#include "mamelon/files.h"
#include "mamelon/limits.h"

#include "base/input_file.h"

namespace mamelon {
namespace {

// Whether a file begins as text, or as an archive or a printed document: what reads tables says of
// these what they are.
bool begins_as_no_picture(const std::filesystem::path& file) {
  std::array<char, 64> start{};
  const std::size_t size =
      detail::InputFile(file, limits::photo_bytes).read(start.data(), start.size());
  const std::string_view head(start.data(), size);
  if (head.starts_with("PK") || head.starts_with("%PDF")) return true;
  if (head.starts_with("RIFF")) return false;
  return !head.empty() && std::none_of(head.begin(), head.end(), [](char c) {
    return static_cast<unsigned char>(c) < ' ' && c != '\t' && c != '\n' && c != '\r';
  });
}

}  // namespace

bool is_photo_file(const std::filesystem::path& file) {
  std::string extension = file.extension().string();
  std::transform(extension.begin(), extension.end(), extension.begin(), [](char c) {
    return c >= 'A' && c <= 'Z' ? static_cast<char>(c - 'A' + 'a') : c;
  });
  static constexpr std::array<std::string_view, 8> tables = {".csv", ".txt",   ".tsv", ".ti3",
                                                             ".sp",  ".cgats", ".cxf", ".xml"};
  static constexpr std::array<std::string_view, 8> photos = {".jpg",  ".jpeg", ".png",  ".tif",
                                                             ".tiff", ".heic", ".heif", ".webp"};
  if (std::find(tables.begin(), tables.end(), extension) != tables.end()) return false;
  if (std::find(photos.begin(), photos.end(), extension) != photos.end()) return true;
  return !begins_as_no_picture(file);
}

}  // namespace mamelon
