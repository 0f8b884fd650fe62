#include "report/pdf/fonts.hpp"

#include <cairo-ft.h>

#include <new>
#include <stdexcept>

#include "base/text.hpp"

// The fonts, embedded as found when the module was built.
asm(".section .rodata\n"
    ".balign 16\n"
    "sievecloth_font_regular: .incbin \"" SIEVECLOTH_FONT_REGULAR
    "\"\n"
    "sievecloth_font_regular_end: .byte 0\n"
    ".balign 16\n"
    "sievecloth_font_bold: .incbin \"" SIEVECLOTH_FONT_BOLD
    "\"\n"
    "sievecloth_font_bold_end: .byte 0\n"
    ".previous\n");
extern "C" {
__attribute__((visibility("hidden"))) extern const char sievecloth_font_regular[];
__attribute__((visibility("hidden"))) extern const char sievecloth_font_regular_end[];
__attribute__((visibility("hidden"))) extern const char sievecloth_font_bold[];
__attribute__((visibility("hidden"))) extern const char sievecloth_font_bold_end[];
}

namespace sievecloth::pdf {
namespace {

std::string_view bytes(const char* begin, const char* end) { return {begin, static_cast<std::size_t>(end - begin)}; }

// Removes and returns the first character of `text`. A byte that is not UTF-8 stands for itself.
char32_t take_character(std::string_view& text) {
  const std::size_t length = utf8_length(text);
  const auto byte = [&](std::size_t i) { return static_cast<unsigned char>(text[i]); };
  char32_t character = byte(0);
  if (length > 1) {
    character = byte(0) & (0xFFu >> (length + 1));
    for (std::size_t i = 1; i < length; ++i) character = character << 6 | (byte(i) & 0x3Fu);
  }
  text.remove_prefix(length == 0 ? 1 : length);
  return character;
}

void demand(FT_Error error) {
  if (error == FT_Err_Out_Of_Memory) throw std::bad_alloc();
  if (error != FT_Err_Ok) throw std::runtime_error("a font cannot be used");
}

}  // namespace

Font::Font(FT_Library library, std::string_view bytes) {
  demand(
      FT_New_Memory_Face(library, reinterpret_cast<const FT_Byte*>(bytes.data()), static_cast<FT_Long>(bytes.size()), 0, &face_));
  cairo_face_ = cairo_ft_font_face_create_for_ft_face(face_, FT_LOAD_NO_HINTING);
  if (cairo_font_face_status(cairo_face_) != CAIRO_STATUS_SUCCESS) throw std::bad_alloc();  // kept, it would spoil every later page
}

Font::~Font() {
  cairo_font_face_destroy(cairo_face_);
  FT_Done_Face(face_);
}

double Font::advance(char32_t character) const {
  auto known = advances_.find(character);
  if (known == advances_.end()) known = advances_.emplace(character, measure(character)).first;
  return known->second;
}

double Font::measure(char32_t character) const {
  demand(FT_Load_Glyph(face_, FT_Get_Char_Index(face_, character), FT_LOAD_NO_SCALE));
  return static_cast<double>(face_->glyph->metrics.horiAdvance) / face_->units_per_EM;
}

double Font::width(std::string_view utf8) const {
  double width = 0;
  while (!utf8.empty()) width += advance(take_character(utf8));
  return width;
}

FontLibrary::FontLibrary() { demand(FT_Init_FreeType(&library_)); }

Fonts::Fonts()
    : regular_(library_.get(), bytes(sievecloth_font_regular, sievecloth_font_regular_end)),
      bold_(library_.get(), bytes(sievecloth_font_bold, sievecloth_font_bold_end)) {}

}  // namespace sievecloth::pdf
