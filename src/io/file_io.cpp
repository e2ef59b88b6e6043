// Whole files in, whole files out.

#include <cerrno>
#include <cstddef>
#include <filesystem>
#include <random>
#include <string>
#include <string_view>
#include <system_error>
#include <utility>

#include <fcntl.h>
#include <sys/stat.h>
#include <unistd.h>

#include "mamelon/error.h"
#include "mamelon/files.h"

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
  const std::string name = file.string();
  const Descriptor in(::open(file.c_str(), O_RDONLY | O_CLOEXEC));
  if (in.get() < 0) {
    throw IoError(name + ": cannot be opened: " + reason(errno) +
                  "; give the path of a file that can be read");
  }
  struct stat facts {};
  if (::fstat(in.get(), &facts) != 0) {
    throw IoError(name + ": cannot be read: " + reason(errno));
  }
  if (S_ISDIR(facts.st_mode)) throw IoError(name + ": is a folder; give a file");
  const auto too_large = [&] {
    return IoError(name + ": is larger than the " + std::to_string(max_bytes >> 20U) +
                   " MiB that are read of such a file");
  };
  std::string content;
  if (S_ISREG(facts.st_mode)) {
    if (static_cast<std::size_t>(facts.st_size) > max_bytes) throw too_large();
    content.reserve(static_cast<std::size_t>(facts.st_size));
  }
  constexpr std::size_t block = std::size_t{1} << 16U;
  for (;;) {
    const std::size_t before = content.size();
    content.resize(before + block);
    const ssize_t got = ::read(in.get(), content.data() + before, block);
    const int error = errno;
    content.resize(before + static_cast<std::size_t>(got > 0 ? got : 0));
    if (got < 0 && error == EINTR) continue;
    if (got < 0) throw IoError(name + ": cannot be read: " + reason(error));
    if (content.size() > max_bytes) throw too_large();
    if (got == 0) return content;
  }
}

void write_file_atomically(const std::filesystem::path& file, std::string_view content) {
  const std::string name = file.string();
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

  // Made with the rights of a new file, which the system narrows as the user set it up.
  std::string beside;
  int made = -1;
  std::random_device random;
  for (int tries = 0; made < 0 && (tries == 0 || (errno == EEXIST && tries < 100)); ++tries) {
    beside = (folder / (".mamelon-" + std::to_string(random()))).string();
    made = ::open(beside.c_str(), O_WRONLY | O_CREAT | O_EXCL | O_CLOEXEC, 0666);
  }
  Descriptor out(made);
  if (out.get() < 0) {
    throw IoError(name + ": cannot be written: " + reason(errno) +
                  "; give a name in a folder that can be written to");
  }
  Temporary temporary(beside);
  write_all(out.get(), content, name);
  if ((existed && ::fchmod(out.get(), old.st_mode & 0777U) != 0) || ::fsync(out.get()) != 0 ||
      out.close() != 0 || ::rename(beside.c_str(), target.c_str()) != 0) {
    throw IoError(name + ": cannot be written: " + reason(errno));
  }
  temporary.keep();
  // The rename itself is made durable as well; a file system that cannot sync a folder has still
  // got a whole file.
  const Descriptor directory(::open(folder.c_str(), O_RDONLY | O_DIRECTORY | O_CLOEXEC));
  if (directory.get() >= 0) (void)::fsync(directory.get());
}

}  // namespace mamelon
