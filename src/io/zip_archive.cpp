#include "io/zip_archive.h"

#include <algorithm>
#include <memory>

#include <zip.h>

#include "mamelon/error.h"

namespace mamelon::detail {
namespace {

std::string words_of(zip_error_t* error) {
  std::string text = zip_error_strerror(error);
  zip_error_fini(error);
  return text;
}

struct Discard {
  void operator()(zip_t* archive) const { zip_discard(archive); }
};
using Archive = std::unique_ptr<zip_t, Discard>;

struct Close {
  void operator()(zip_file_t* file) const { zip_fclose(file); }
};

struct Free {
  void operator()(zip_source_t* source) const { zip_source_free(source); }
};
using Source = std::unique_ptr<zip_source_t, Free>;

// Midnight of 1 January 1980, where the times of a zip begin.
constexpr zip_uint16_t first_time = 0;
constexpr zip_uint16_t first_date = (1U << 5U) | 1U;

void add(zip_t* archive, const ZipPart& part) {
  zip_source_t* const source =
      zip_source_buffer(archive, part.content.data(), part.content.size(), 0);
  const zip_int64_t at =
      source == nullptr ? -1 : zip_file_add(archive, part.name.c_str(), source, ZIP_FL_ENC_UTF_8);
  if (at < 0) {
    if (source != nullptr) zip_source_free(source);
    throw IoError("the zip cannot be made: " + std::string(zip_strerror(archive)));
  }
  const auto index = static_cast<zip_uint64_t>(at);
  zip_set_file_compression(archive, index, ZIP_CM_STORE, 0);
  zip_file_set_dostime(archive, index, first_time, first_date, 0);
  zip_file_set_external_attributes(archive, index, 0, ZIP_OPSYS_UNIX, 0100644U << 16U);
}

std::string content_of(zip_t* archive, zip_uint64_t index, const zip_stat_t& found,
                       const std::string& where) {
  const std::unique_ptr<zip_file_t, Close> file(zip_fopen_index(archive, index, 0));
  std::string content(static_cast<std::size_t>(found.size), '\0');
  const zip_int64_t count =
      file ? zip_fread(file.get(), content.data(), content.size()) : zip_int64_t{-1};
  // The end of a part is where its check sum is held against it.
  char beyond = 0;
  if (count < 0 || static_cast<std::size_t>(count) != content.size() ||
      zip_fread(file.get(), &beyond, 1) != 0) {
    throw DataError(where + ": is damaged or encrypted");
  }
  return content;
}

}  // namespace

std::string write_zip(const std::vector<ZipPart>& parts) {
  zip_error_t error;
  zip_error_init(&error);
  const Source source(zip_source_buffer_create(nullptr, 0, 0, &error));
  if (!source) throw IoError("the zip cannot be made: " + words_of(&error));
  Archive archive(zip_open_from_source(source.get(), ZIP_CREATE | ZIP_TRUNCATE, &error));
  if (!archive) throw IoError("the zip cannot be made: " + words_of(&error));
  // The archive gives up its share of the source when it is closed.
  zip_source_keep(source.get());
  for (const ZipPart& part : parts) add(archive.get(), part);
  if (zip_close(archive.get()) != 0) {
    throw IoError("the zip cannot be made: " + std::string(zip_strerror(archive.get())));
  }
  (void)archive.release();
  zip_stat_t made;
  zip_stat_init(&made);
  std::string out;
  if (zip_source_stat(source.get(), &made) == 0 && zip_source_open(source.get()) == 0) {
    out.resize(static_cast<std::size_t>(made.size));
    const zip_int64_t count = zip_source_read(source.get(), out.data(), out.size());
    zip_source_close(source.get());
    if (count == static_cast<zip_int64_t>(out.size())) return out;
  }
  throw IoError("the zip cannot be made: there is not enough memory");
}

std::vector<ZipPart> read_zip(std::string_view zip, const std::string& source,
                              std::size_t most_parts, std::size_t most_bytes) {
  zip_error_t error;
  zip_error_init(&error);
  zip_source_t* const bytes = zip_source_buffer_create(zip.data(), zip.size(), 0, &error);
  if (bytes == nullptr) throw DataError(source + ": cannot be read: " + words_of(&error));
  const Archive archive(zip_open_from_source(bytes, ZIP_RDONLY | ZIP_CHECKCONS, &error));
  if (!archive) {
    zip_source_free(bytes);
    throw DataError(source + ": is no sound zip: " + words_of(&error));
  }
  const zip_int64_t count = zip_get_num_entries(archive.get(), 0);
  if (count < 0 || static_cast<std::size_t>(count) > most_parts) {
    throw DataError(source + ": has " + std::to_string(count) + " parts, where at most " +
                    std::to_string(most_parts) + " are expected");
  }
  std::vector<ZipPart> parts;
  for (zip_uint64_t i = 0; i < static_cast<zip_uint64_t>(count); ++i) {
    zip_stat_t found;
    zip_stat_init(&found);
    constexpr zip_uint64_t needed = ZIP_STAT_NAME | ZIP_STAT_SIZE;
    if (zip_stat_index(archive.get(), i, 0, &found) != 0 || (found.valid & needed) != needed) {
      throw DataError(source + ": part " + std::to_string(i + 1) + " has no name or size");
    }
    const std::string where = source + ": part " + found.name;
    if (found.size > most_bytes) throw DataError(where + ": is larger than what is read");
    if (std::any_of(parts.begin(), parts.end(),
                    [&](const ZipPart& part) { return part.name == found.name; })) {
      throw DataError(where + ": stands twice in the zip");
    }
    parts.push_back({found.name, content_of(archive.get(), i, found, where)});
  }
  return parts;
}

}  // namespace mamelon::detail
