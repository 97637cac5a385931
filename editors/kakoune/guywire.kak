# guywire: for kakrc, with kak-lsp (kakoune-lsp). The programs `guywire` and `kak-lsp` have to be on the PATH.

eval %sh{kak-lsp}

# `toml` brings colors; the option below keeps servers for TOML at large away from plans.
hook global BufCreate .*(\.(plan|model|regime|bench|field)|/guywire|^guywire)\.toml %{
    set-option buffer filetype toml
    set-option buffer lsp_servers %{
        [guywire]
        root_globs = ["guywire.toml", ".git"]
        command = "guywire"
        args = ["serve"]
    }
}

lsp-enable
lsp-inlay-hints-enable global
