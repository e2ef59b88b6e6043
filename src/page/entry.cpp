// The functions that WebAssembly exports to the page's worker. Text and bytes of an answer stay
// valid until the next call.

#include <cstddef>
#include <exception>
#include <new>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include <emscripten.h>
#include <nlohmann/json.hpp>

#include "page/session.h"

namespace {

// The one place that the C functions below share.
struct Instance {
  mamelon::page::Session session;
  std::vector<std::byte> room;
  mamelon::page::Answer answer;
};
Instance& instance() {
  static Instance made;
  return made;
}

// The worker tells the page how far the work is.
EM_JS(void, tell, (double share, const char* step, std::size_t size), {
  if (Module.told) Module.told(share, UTF8ToString(step, size));
});

std::string error_json(std::string_view kind, std::string_view sentence) {
  return nlohmann::json{{"kind", kind}, {"sentence", sentence}}.dump(
      -1, ' ', false, nlohmann::json::error_handler_t::replace);
}

}  // namespace

extern "C" {

// Room for the bytes of the next call.
EMSCRIPTEN_KEEPALIVE void* mamelon_room(std::size_t size) {
  instance().room.resize(size);
  return instance().room.data();
}

// 1 where the answer is a result, 0 where it is an error's kind and sentence.
EMSCRIPTEN_KEEPALIVE int mamelon_call(const char* operation, const char* json) {
  Instance& it = instance();
  try {
    const auto progress = [](double share, std::string_view step) {
      tell(share, step.data(), step.size());
      return true;
    };
    it.answer =
        mamelon::page::run(it.session, operation, json, std::exchange(it.room, {}), progress);
    return 1;
  } catch (const mamelon::Error& error) {
    it.answer = {error_json("refused", error.what()), {}};
  } catch (const std::bad_alloc&) {
    it.answer = {error_json("memory", "out of memory"), {}};
  } catch (const std::exception& error) {
    // OpenCV says so in its own way.
    const bool memory = std::string_view(error.what()).find("memory") != std::string_view::npos;
    it.answer = {error_json(memory ? "memory" : "core", error.what()), {}};
  }
  return 0;
}

EMSCRIPTEN_KEEPALIVE const char* mamelon_text() {
  return instance().answer.json.c_str();
}
EMSCRIPTEN_KEEPALIVE const char* mamelon_bytes() {
  return instance().answer.bytes.data();
}
EMSCRIPTEN_KEEPALIVE std::size_t mamelon_bytes_size() {
  return instance().answer.bytes.size();
}

}  // extern "C"
