#pragma once
// Bytes of a file or of memory as a stream that can be read more than once.

#include <cstddef>
#include <filesystem>
#include <istream>
#include <memory>
#include <streambuf>
#include <string>
#include <string_view>

namespace mamelon::detail {

class ByteSource {
 public:
  // A regular file, read piece by piece. Throws IoError as InputFile does.
  static ByteSource of_file(const std::filesystem::path& file, std::size_t max_bytes);
  // `bytes` has to outlive the source.
  static ByteSource of_bytes(std::string_view bytes, std::string name);

  [[nodiscard]] const std::string& name() const { return name_; }
  // SHA-256 of all bytes.
  [[nodiscard]] const std::string& digest() const { return digest_; }
  // How many lines there can be at most.
  [[nodiscard]] std::size_t lines() const { return lines_; }
  // The first bytes, as many as tell what the file is.
  [[nodiscard]] std::string_view head() const { return head_; }
  // The whole, from the start, every time it is asked for.
  [[nodiscard]] std::istream& stream();
  [[nodiscard]] std::size_t size() const { return size_; }

 private:
  ByteSource(std::unique_ptr<std::streambuf> buffer, std::string name);
  void scan();

  std::string name_;
  std::unique_ptr<std::streambuf> buffer_;
  std::unique_ptr<std::istream> in_;
  std::string digest_;
  std::string head_;
  std::size_t lines_ = 1;
  std::size_t size_ = 0;
};

}  // namespace mamelon::detail
