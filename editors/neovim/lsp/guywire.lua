-- The language server for radio channel plans, as Neovim 0.11 finds it on its runtime path.
return {
  cmd = { vim.g.guywire_command or 'guywire', 'serve' },
  filetypes = { 'toml.guywire' },
  root_markers = { 'guywire.toml', '.git' },
}
