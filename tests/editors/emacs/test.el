;;; test.el --- The acts of ../acts.json in Emacs. Run by ../run.  -*- lexical-binding: t -*-

(require 'package)
(package-initialize)
(require 'eglot)
(require 'flymake)
(require 'json)
(load (getenv "SETTINGS") nil t)

(defconst patience 60.0)
(defconst acts (with-temp-buffer
                 (insert-file-contents (getenv "ACTS"))
                 (json-parse-buffer :object-type 'alist :array-type 'list)))

(defun act (&rest keys)
  "The part of the acts that KEYS lead to."
  (let ((value acts))
    (dolist (key keys value)
      (setq value (alist-get key value)))))

(defmacro until (what &rest body)
  "Let the editor work until BODY is not nil, and answer with it; WHAT says what is waited for."
  (declare (indent 1))
  `(let ((end (+ (float-time) patience)) (value nil))
     (while (not (setq value (progn ,@body)))
       (when (> (float-time) end) (error "Waited in vain until %s" ,what))
       (accept-process-output nil 0.02))
     value))

(defun go-to (begins &optional word)
  "Put point on WORD, in the line that BEGINS so."
  (goto-char (point-min))
  (re-search-forward (concat "^" (regexp-quote begins)))
  (beginning-of-line)
  (when word (search-forward word (line-end-position))))

(defun says (text wanted)
  "Fail unless TEXT holds WANTED."
  (unless (string-match-p (regexp-quote wanted) text) (error "No `%s' in: %s" wanted text)))

(defun findings ()
  "What the server found in this buffer."
  (flymake-start)
  (mapcar #'flymake-diagnostic-text (flymake-diagnostics)))

(defun told (words)
  "Whether a finding of this buffer says WORDS."
  (seq-find (lambda (each) (string-match-p (regexp-quote words) each)) (findings)))

(defun reads-findings ()
  (dolist (rule (act 'found))
    (until (format "%s is found" rule) (told rule)))
  (go-to (act 'finding 'line))
  (let ((found (until "a finding is at the line" (flymake-diagnostics (line-beginning-position) (line-end-position)))))
    (says (flymake-diagnostic-text (car found)) (act 'finding 'says))))

(defun hovers ()
  (go-to (act 'hover 'line))
  (let ((shown nil))
    (eglot-hover-eldoc-function (lambda (text &rest _) (setq shown text)))
    (until "the hover is shown" shown)
    (dolist (wanted (act 'hover 'says)) (says shown wanted))))

;; Types in the line of the finding, asks for what comes next, and undoes it.
(defun completes ()
  (go-to (act 'complete 'line))
  (delete-region (line-beginning-position) (line-end-position))
  (insert (act 'complete 'typed))
  (let* ((table (eglot-completion-at-point))
         (typed (buffer-substring-no-properties (nth 0 table) (nth 1 table)))
         (offered (all-completions typed (nth 2 table))))
    (unless (seq-find (lambda (each) (string-match-p (regexp-quote (act 'complete 'offered)) each)) offered)
      (error "Offered: %S" offered)))
  (delete-region (line-beginning-position) (line-end-position))
  (insert (act 'complete 'line))
  ;; The server hears of it when the editor is idle; here it never is.
  (eglot--signal-textDocument/didChange))

(defun renames ()
  (go-to (act 'rename 'line) "\"")
  ;; eglot asks before it edits several files.
  (cl-letf (((symbol-function 'y-or-n-p) (lambda (&rest _) t)))
    (eglot-rename (act 'rename 'to)))
  (dolist (written (act 'rename 'written))
    (with-current-buffer (find-file-noselect (expand-file-name (symbol-name (car written)) (getenv "PLANS")))
      (save-excursion
        (goto-char (point-min))
        (unless (re-search-forward (concat "^" (regexp-quote (cdr written)) "$") nil t)
          (error "No `%s' in %s" (cdr written) (car written))))))
  (goto-char (point-min))
  (when (re-search-forward (concat "^" (regexp-quote (act 'rename 'line)) "$") nil t) (error "A use kept its name")))

(defun takes-fix ()
  (go-to (act 'finding 'line) "\"")
  (let* ((actions (eglot-code-actions (point) (point) "quickfix" nil))
         (fix (seq-find (lambda (each) (string-prefix-p (act 'fix 'title) (plist-get each :title))) actions)))
    (unless fix (error "The fix is not among %S" (mapcar (lambda (each) (plist-get each :title)) actions)))
    (eglot--apply-workspace-edit (plist-get fix :edit))
    (eglot--signal-textDocument/didChange))
  (go-to (act 'fix 'line)))

(defun sees-it-gone ()
  (until "the finding is gone" (not (told (act 'finding 'says))))
  (unless (told (car (act 'found))) (error "Another finding went with it")))

(setq eglot-sync-connect 10 eglot-confirm-server-initiated-edits nil)
(find-file (expand-file-name (act 'file) (getenv "PLANS")))
(unless (eq major-mode 'guywire-mode) (error "The mode is %s" major-mode))
;; eglot waits for the first command; here none is typed.
(run-hooks 'post-command-hook)
(until "the server is connected" (eglot-current-server))
(dolist (each '(reads-findings hovers completes renames takes-fix sees-it-gone))
  (funcall each)
  (message "  %s" each))
(message "passed")
(save-some-buffers t)
(kill-emacs 0)
;;; test.el ends here
