#pragma once
// A regular file that is read from its start, a piece at a time.

#include <cstddef>
#include <filesystem>
#include <string>

namespace mamelon::detail {

class InputFile {
 public:
  // Throws IoError naming the file where it cannot be opened, is a folder, a pipe or a device
  // (which need not ever end), has more than `max_bytes`, or is for the most part a hole that
  // nothing was ever written to.
  InputFile(const std::filesystem::path& file, std::size_t max_bytes);
  InputFile(const InputFile&) = delete;
  InputFile& operator=(const InputFile&) = delete;
  ~InputFile();

  // The next bytes, as many as there are up to `count`; 0 at the end. Throws IoError, also once
  // more than `max_bytes` were read of a file that grows.
  std::size_t read(char* to, std::size_t count);
  void rewind();
  // All that is left.
  [[nodiscard]] std::string rest();

  [[nodiscard]] const std::string& name() const { return name_; }
  // As the system states it; more may come.
  [[nodiscard]] std::size_t size() const { return size_; }

 private:
  [[noreturn]] void fail(const std::string& why) const;
  [[noreturn]] void fail_too_large() const;

  std::string name_;
  std::size_t max_bytes_;
  std::size_t size_ = 0;
  std::size_t taken_ = 0;
  int fd_ = -1;
};

}  // namespace mamelon::detail
