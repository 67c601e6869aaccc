// Signatures of seals, by libsodium: Ed25519 (RFC 8032). Keys are one line of text a file; a secret
// key is the seed of RFC 8032, 5.1.5.
#pragma once

#include <string>
#include <string_view>

namespace deckle {

struct KeyTexts {
    std::string secret, open;  ///< contents of the two files, each with its line end
};
/// A new pair. `secret` is for the eyes of its owner alone.
[[nodiscard]] KeyTexts new_keys();

/// Whether a text begins as a secret key does.
[[nodiscard]] bool is_secret_key(std::string_view text);

/// "ed25519 PUBLIC SIGNATURE\n", all in hexadecimal.
/// Errors: InputError bad-key; `name` is the file that the text was read from.
[[nodiscard]] std::string signature_of(std::string_view message, std::string_view secret_text,
                                       std::string_view name);

/// The key in a public key's text, in hexadecimal. Errors: InputError bad-key.
[[nodiscard]] std::string open_key_in(std::string_view text, std::string_view name);

struct SignatureCheck {
    bool readable = false;  ///< the line is laid out as signature_of writes it
    bool holds = false;     ///< the signature is of this message by this key
    std::string key;        ///< public, in hexadecimal
};
[[nodiscard]] SignatureCheck check_signature(std::string_view message, std::string_view line);

}  // namespace deckle
