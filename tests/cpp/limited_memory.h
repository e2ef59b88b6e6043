#pragma once
// Runs a reader in a process of its own that the kernel gives no more than so much memory.

#include <cstddef>
#include <cstdio>
#include <exception>
#include <functional>
#include <new>
#include <string>

#include <sys/resource.h>
#include <sys/wait.h>
#include <unistd.h>

#include "mamelon/error.h"

namespace mamelon {

// Sanitizers map terabytes for themselves, which no limit lets them.
#if defined(__SANITIZE_ADDRESS__) || defined(__SANITIZE_THREAD__)
inline constexpr bool memory_can_be_limited = false;
#elif defined(__has_feature)
#if __has_feature(address_sanitizer) || __has_feature(thread_sanitizer)
inline constexpr bool memory_can_be_limited = false;
#else
inline constexpr bool memory_can_be_limited = true;
#endif
#else
inline constexpr bool memory_can_be_limited = true;
#endif

enum class Outcome { read, refused, out_of_memory, crashed };

// What came of `work` with at most `bytes` of address space above what this process has now. An
// Error of the library is a refusal.
inline Outcome within_memory(std::size_t bytes, const std::function<void()>& work) {
  const pid_t child = ::fork();
  if (child == 0) {
    std::size_t pages = 0;
    if (std::FILE* file = std::fopen("/proc/self/statm", "r")) {
      if (std::fscanf(file, "%zu", &pages) != 1) pages = 0;
      std::fclose(file);
    }
    const rlim_t most = pages * static_cast<std::size_t>(::sysconf(_SC_PAGESIZE)) + bytes;
    const rlimit limit{most, most};
    ::setrlimit(RLIMIT_AS, &limit);
    try {
      work();
      ::_exit(0);
    } catch (const Error& error) {
      std::fprintf(stderr, "refused: %.200s\n", error.what());
      ::_exit(1);
    } catch (const std::bad_alloc&) {
      ::_exit(2);
    } catch (...) {
      ::_exit(3);
    }
  }
  int status = 0;
  ::waitpid(child, &status, 0);
  if (!WIFEXITED(status)) return Outcome::crashed;
  switch (WEXITSTATUS(status)) {
    case 0:
      return Outcome::read;
    case 1:
      return Outcome::refused;
    case 2:
      return Outcome::out_of_memory;
    default:
      return Outcome::crashed;
  }
}

}  // namespace mamelon
