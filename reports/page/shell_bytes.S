/* The bundled shell of the page, byte by byte, inside the program. */
    .section .rodata
    .global deckle_page_shell
    .global deckle_page_shell_end
deckle_page_shell:
    .incbin DECKLE_SHELL
deckle_page_shell_end:
    .byte 0
    .section .note.GNU-stack,"",%progbits
