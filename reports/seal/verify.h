// SealVerification of a seal: every digest, the signature, and every figure worked out anew from
// the sealed inputs and compared bit for bit.
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "reports/seal/seal.h"
#include "reports/style.h"

namespace deckle {

struct SealFinding {
    std::string code;     ///< never renamed
    std::string message;  ///< what differs, with both sides of it
    /// Of a figure: by which part of the larger of both it differs, 1 where one side lacks it.
    std::optional<double> relative = {};
};

struct SealVerification {
    std::string digest;   ///< of the seal: SHA-256 of its manifest
    std::string program;  ///< that sealed
    std::string study;    ///< path among the inputs
    std::size_t inputs = 0, factor_tables = 0, figures = 0;  ///< figures: worked out and compared
    std::string signed_by;  ///< public key in hexadecimal, "" when unsigned
    bool key_given = false;
    std::vector<SealFinding> findings;  ///< none: everything is as it was sealed
};

/// Digests and signature alone: codes file-differs, file-missing, file-not-sealed, other-manifest,
/// bad-signature, other-key, not-signed. `open_key`: in hexadecimal, or none.
[[nodiscard]] std::vector<SealFinding> check_digests(const Seal& seal,
                                                     const std::optional<std::string>& open_key);

/// All of it; adds figure-differs, result-differs, input-not-read, not-worked-out.
[[nodiscard]] SealVerification verify_seal(const Seal& seal,
                                           const std::optional<std::string>& open_key,
                                           unsigned threads);

/// `program` verified; `name` is the seal's file.
[[nodiscard]] std::string verification_text(const SealVerification& found, const std::string& name,
                                            const std::string& program, const Style& style);
[[nodiscard]] std::string verification_json(const SealVerification& found,
                                            const std::string& program);

}  // namespace deckle
