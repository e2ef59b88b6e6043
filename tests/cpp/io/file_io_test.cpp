#include <filesystem>
#include <fstream>
#include <string>

#include <gtest/gtest.h>
#include <sys/stat.h>
#include <unistd.h>

#include "mamelon/error.h"
#include "mamelon/files.h"

#include "temporary_folder.h"

namespace mamelon {
namespace {

namespace fs = std::filesystem;

std::size_t count_of(const fs::path& folder) {
  return static_cast<std::size_t>(std::distance(fs::directory_iterator(folder), {}));
}

TEST(FileIo, WhatIsWrittenIsReadBackByteForByte) {
  const TemporaryFolder folder;
  std::string content = "first\0second\r\n\xff";
  content += std::string(300000, 'x');
  write_file_atomically(folder.path() / "a.bin", content);
  EXPECT_EQ(read_file(folder.path() / "a.bin"), content);
  EXPECT_EQ(count_of(folder.path()), 1U);
}

TEST(FileIo, ReplacingKeepsThePermissionsOfTheOldFile) {
  const TemporaryFolder folder;
  const fs::path file = folder.path() / "a.txt";
  write_file_atomically(file, "old");
  fs::permissions(file, fs::perms::owner_read | fs::perms::owner_write);
  write_file_atomically(file, "new");
  EXPECT_EQ(read_file(file), "new");
  EXPECT_EQ(fs::status(file).permissions(), fs::perms::owner_read | fs::perms::owner_write);
}

TEST(FileIo, ALinkKeepsPointingAtItsReplacedTarget) {
  const TemporaryFolder folder;
  write_file_atomically(folder.path() / "target", "old");
  fs::create_symlink("target", folder.path() / "link");
  write_file_atomically(folder.path() / "link", "new");
  EXPECT_TRUE(fs::is_symlink(folder.path() / "link"));
  EXPECT_EQ(read_file(folder.path() / "target"), "new");
}

TEST(FileIo, FailureLeavesTheFolderAsItWas) {
  const TemporaryFolder folder;
  fs::create_directory(folder.path() / "folder");
  EXPECT_THROW(write_file_atomically(folder.path() / "folder", "x"), IoError);
  EXPECT_THROW(write_file_atomically(folder.path() / "absent" / "a.txt", "x"), IoError);
  EXPECT_THROW(write_file_atomically(folder.path() / "", "x"), IoError);
  EXPECT_THROW(write_file_atomically("/dev/full", "x"), IoError);
  EXPECT_EQ(count_of(folder.path()), 1U);
}

TEST(FileIo, MissingFileFolderAndOverlongFileAreNamed) {
  const TemporaryFolder folder;
  write_file_atomically(folder.path() / "long", std::string(2000, 'x'));
  const auto message = [](const fs::path& file, std::size_t most) {
    try {
      (void)read_file(file, most);
    } catch (const IoError& error) {
      return std::string(error.what());
    }
    return std::string("no error");
  };
  EXPECT_NE(message(folder.path() / "absent", 100).find("absent: cannot be opened"),
            std::string::npos);
  EXPECT_NE(message(folder.path(), 100).find("is a folder"), std::string::npos);
  EXPECT_NE(message(folder.path() / "long", 1000).find("long: is larger than"), std::string::npos);
  // A device need not ever end.
  EXPECT_NE(message("/dev/zero", 1U << 20U).find("is a pipe or a device"), std::string::npos);
  const std::string zero("a\0b", 3);
  EXPECT_NE(message(zero, 100).find("zero byte"), std::string::npos);
  EXPECT_THROW(write_file_atomically(folder.path() / zero, "x"), IoError);
}

}  // namespace
}  // namespace mamelon
