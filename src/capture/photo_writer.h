#pragma once
// From a file's codes to the upright photo in linear light, band by band.

#include <cstddef>
#include <cstdint>
#include <string>
#include <vector>

#include "mamelon/image.h"

#include "capture/lineariser.h"

namespace mamelon::detail {

// Fills a photo from the rows of its file.
class PhotoWriter {
 public:
  // Sets everything of `photo` but its pixels. Throws DataError for a malformed profile.
  PhotoWriter(const RasterFacts& facts, const PhotoOptions& options, const std::string& source,
              Photo& photo);

  // Takes the next `rows` rows of the file, from the top.
  void put(const std::uint8_t* codes, std::size_t rows);
  void put(const std::uint16_t* codes, std::size_t rows);

  // Where the next `rows` rows may be decoded to, in place of `put`; `filled` follows. Null where
  // the photo does not keep the file's bytes in the file's order.
  [[nodiscard]] std::uint8_t* next_rows(std::size_t rows);
  void filled(std::size_t rows);

  // Whether a fine sample of all pixels so far shows no colour.
  [[nodiscard]] bool is_grey() const { return grey_; }

 private:
  // Where the pixel at (x, y) of the file goes in the upright photo (EXIF 2.32, Orientation):
  // first + x·step_x + y·step_y.
  struct Placement {
    std::ptrdiff_t first = 0;
    std::ptrdiff_t step_x = 1;
    std::ptrdiff_t step_y = 0;
  };
  void set_placement(int orientation);
  // Where row y of the file starts in the photo, in pixels.
  [[nodiscard]] std::ptrdiff_t start_of(std::size_t y) const;
  // Whether the photo holds the file's bytes rather than the light of each.
  [[nodiscard]] bool keeps_codes() const;
  template <class T>
  void make_room(std::vector<T>& values);
  template <class Code>
  void put_light(const Code* codes, std::size_t rows);
  template <class Code>
  void place_light(const Code* codes, std::size_t y, std::vector<std::uint16_t>& scratch);
  void place_codes(const std::uint8_t* codes, std::size_t y);
  template <class Code>
  void look_for_colour(const Code* codes, std::size_t rows);

  Photo& photo_;
  Lineariser lineariser_;
  Placement placement_;
  std::size_t file_width_;
  std::size_t next_row_ = 0;
  bool grows_ = false;  // rows of the file are rows of the photo, in order
  bool grey_ = true;
};

}  // namespace mamelon::detail
