#include "base/sha256.h"

#include <array>
#include <string_view>

#include <openssl/evp.h>

namespace mamelon::detail {

void Sha256::Free::operator()(void* context) const {
  EVP_MD_CTX_free(static_cast<EVP_MD_CTX*>(context));
}

Sha256::Sha256() : context_(EVP_MD_CTX_new()) {
  EVP_DigestInit_ex(static_cast<EVP_MD_CTX*>(context_.get()), EVP_sha256(), nullptr);
}

void Sha256::take(std::span<const std::byte> bytes) {
  EVP_DigestUpdate(static_cast<EVP_MD_CTX*>(context_.get()), bytes.data(), bytes.size());
}

std::string Sha256::hex() {
  std::array<unsigned char, EVP_MAX_MD_SIZE> raw{};
  unsigned int size = 0;
  EVP_DigestFinal_ex(static_cast<EVP_MD_CTX*>(context_.get()), raw.data(), &size);
  constexpr std::string_view digits = "0123456789abcdef";
  std::string text;
  text.reserve(2 * std::size_t{size});
  for (unsigned int i = 0; i < size; ++i) {
    text += digits[raw[i] >> 4];
    text += digits[raw[i] & 15];
  }
  return text;
}

}  // namespace mamelon::detail
