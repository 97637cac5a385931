" guywire: for Vim 8.2 or newer with ALE. The program `guywire` has to be on the PATH.
" In vimrc: `source /path/to/guywire.vim`.

if exists('g:loaded_guywire')
  finish
endif
let g:loaded_guywire = 1

" The folder with guywire.toml, upward from the file; else the one with .git; else the file's own.
function! s:Root(buffer) abort
  let l:file = fnamemodify(bufname(a:buffer), ':p')
  let l:settings = findfile('guywire.toml', fnamemodify(l:file, ':h') . ';')
  if !empty(l:settings)
    return fnamemodify(l:settings, ':p:h')
  endif
  let l:repository = finddir('.git', fnamemodify(l:file, ':h') . ';')
  return empty(l:repository) ? fnamemodify(l:file, ':h') : fnamemodify(l:repository, ':p:h:h')
endfunction

let s:defined = 0

" Called when the first of the files is read: by then ALE is there, however it is installed.
function! s:Define() abort
  if s:defined
    return
  endif
  let s:defined = 1
  if empty(globpath(&runtimepath, 'autoload/ale/linter.vim'))
    echohl WarningMsg | echomsg 'guywire: ALE is not installed' | echohl None
    return
  endif
  call ale#linter#Define('guywire', {
    \ 'name': 'guywire',
    \ 'lsp': 'stdio',
    \ 'executable': {-> get(g:, 'guywire_command', 'guywire')},
    \ 'command': '%e serve',
    \ 'project_root': function('s:Root'),
    \ 'language': 'guywire',
    \ })
endfunction

" `toml` brings colors where there are any; the second name keeps servers for TOML at large away from plans.
augroup guywire
  autocmd!
  autocmd BufRead,BufNewFile *.plan.toml,*.model.toml,*.regime.toml,*.bench.toml,*.field.toml,guywire.toml
    \ call s:Define() | setlocal filetype=toml.guywire commentstring=#\ %s
augroup END
