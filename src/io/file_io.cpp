// Whole files in, whole files out.

#include <cerrno>
#include <cstddef>
#include <filesystem>
#include <string>
#include <string_view>
#include <system_error>
#include <utility>

#include <fcntl.h>
#include <sys/stat.h>
#include <unistd.h>

#include "mamelon/error.h"
#include "mamelon/files.h"

#include "base/input_file.h"

namespace mamelon {
namespace {

std::string reason(int error) {
  return std::generic_category().message(error);
}

class Descriptor {
 public:
  explicit Descriptor(int fd) : fd_(fd) {}
  Descriptor(const Descriptor&) = delete;
  Descriptor& operator=(const Descriptor&) = delete;
  ~Descriptor() {
    if (fd_ >= 0) ::close(fd_);
  }
  [[nodiscard]] int get() const { return fd_; }
  int close() { return ::close(std::exchange(fd_, -1)); }

 private:
  int fd_;
};

// Removes the half-written file unless it was renamed into place.
class Temporary {
 public:
  explicit Temporary(std::string path) : path_(std::move(path)) {}
  Temporary(const Temporary&) = delete;
  Temporary& operator=(const Temporary&) = delete;
  ~Temporary() {
    if (!path_.empty()) ::unlink(path_.c_str());
  }
  void keep() { path_.clear(); }

 private:
  std::string path_;
};

void write_all(int fd, std::string_view content, const std::string& name) {
  while (!content.empty()) {
    const ssize_t written = ::write(fd, content.data(), content.size());
    if (written < 0 && errno == EINTR) continue;
    if (written < 0) throw IoError(name + ": cannot be written: " + reason(errno));
    content.remove_prefix(static_cast<std::size_t>(written));
  }
}

}  // namespace

std::string read_file(const std::filesystem::path& file, std::size_t max_bytes) {
  return detail::InputFile(file, max_bytes).rest();
}

void write_file_atomically(const std::filesystem::path& file, std::string_view content) {
  const std::string name = file.string();
  if (name.find('\0') != std::string::npos) {
    throw IoError(name + ": the name has a zero byte in it");
  }
  std::error_code ignored;
  // A link keeps pointing where it did: what it points to is replaced.
  const std::filesystem::path target = std::filesystem::is_symlink(file, ignored)
                                           ? std::filesystem::weakly_canonical(file, ignored)
                                           : file;
  if (!target.has_filename()) throw IoError(name + ": is not the name of a file");
  struct stat old {};
  const bool existed = ::stat(target.c_str(), &old) == 0;
  if (existed && !S_ISREG(old.st_mode)) {
    throw IoError(name + ": exists and is not a regular file; give another name");
  }
  const std::filesystem::path folder = target.has_parent_path() ? target.parent_path() : ".";

  std::string pattern = (folder / ".mamelon-XXXXXX").string();
  Descriptor out(::mkostemp(pattern.data(), O_CLOEXEC));
  if (out.get() < 0) {
    throw IoError(name + ": cannot be written: " + reason(errno) +
                  "; give a name in a folder that can be written to");
  }
  Temporary temporary(pattern);
  const mode_t mask = ::umask(0);
  ::umask(mask);
  const mode_t mode = existed ? (old.st_mode & 0777U) : (0666U & ~mask);
  write_all(out.get(), content, name);
  if (::fchmod(out.get(), mode) != 0 || ::fsync(out.get()) != 0 || out.close() != 0 ||
      ::rename(pattern.c_str(), target.c_str()) != 0) {
    throw IoError(name + ": cannot be written: " + reason(errno));
  }
  temporary.keep();
  // The rename itself is made durable as well; a file system that cannot sync a folder has still
  // got a whole file.
  const Descriptor directory(::open(folder.c_str(), O_RDONLY | O_DIRECTORY | O_CLOEXEC));
  if (directory.get() >= 0) (void)::fsync(directory.get());
}

}  // namespace mamelon
