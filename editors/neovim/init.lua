-- guywire: for init.lua, Neovim 0.11 or newer. The program `guywire` has to be on the PATH.
local patterns = {}
for _, kind in ipairs({ 'plan', 'model', 'regime', 'bench', 'field' }) do
  patterns['.*%.' .. kind .. '%.toml'] = 'toml.guywire'
end
vim.filetype.add({ filename = { ['guywire.toml'] = 'toml.guywire' }, pattern = patterns })

vim.lsp.config('guywire', {
  cmd = { 'guywire', 'serve' },
  filetypes = { 'toml.guywire' },
  root_markers = { 'guywire.toml', '.git' },
})
vim.lsp.enable('guywire')

-- Neovim underlines a finding; this writes what is wrong below the line that the cursor is on.
vim.diagnostic.config({ virtual_lines = { current_line = true } })
