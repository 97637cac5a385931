set nocompatible noswapfile viminfo=
filetype on
let g:ale_linters_explicit = 1
let g:ale_linters = {'guywire': ['guywire']}
let g:ale_hover_to_preview = 1
let g:ale_lint_delay = 0
packadd! ale
execute 'source' $SETTINGS
