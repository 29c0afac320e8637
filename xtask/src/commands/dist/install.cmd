@echo off
rem Copies Plumbline to the plugin folders of this user, replacing an older version there. Asks nothing.
rem   install.cmd            the user's own folders
rem   install.cmd FOLDER     FOLDER\CLAP, FOLDER\VST3 and FOLDER\VST3 Presets
rem VST3 hosts look for presets in a folder of its own; presets of your own that lie there stay.
setlocal EnableExtensions DisableDelayedExpansion
set "here=%~dp0"
if not exist "%here%SHA256SUMS" (
    echo install.cmd stands alone here: unpack the whole archive first, then run it from there 1>&2
    exit /b 1
)
set "prefix=%~1"
set "presets=%~1"
if not "%prefix%"=="" goto check
set "prefix=%LOCALAPPDATA%\Programs\Common"
set "presets=%USERPROFILE%\Documents"
rem Documents may have been moved: the registry knows where to.
set "key=HKCU\Software\Microsoft\Windows\CurrentVersion\Explorer\User Shell Folders"
for /f "tokens=2,*" %%a in ('reg query "%key%" /v Personal 2^>nul ^| find "REG_"') do call set "presets=%%b"

:check
rem A certutil that prints no sum at all checks nothing.
set "changed="
certutil -hashfile "%here%SHA256SUMS" SHA256 2>nul | find ":" >nul
if errorlevel 1 (
    echo no certutil: the files are not checked 1>&2
    goto install
)
for /f "usebackq tokens=1,*" %%a in ("%here%SHA256SUMS") do call :sum %%a "%%b"
if defined changed exit /b 1

:install
call :clap
if errorlevel 1 exit /b 1
call :vst3
if errorlevel 1 exit /b 1
set "to=%presets%\VST3 Presets\Plumbline\Plumbline"
if not exist "%to%" mkdir "%to%"
xcopy /e /q /y "%here%presets" "%to%" >nul
if errorlevel 1 goto failed
echo installed: "%to%"
exit /b 0

rem A sum and a file's name: one must be the other's.
:sum
set "name=%~2"
set "name=%name:/=\%"
certutil -hashfile "%here%%name%" SHA256 2>nul | find "%~1" >nul
if not errorlevel 1 exit /b 0
set "changed=yes"
echo "%name%" is not as it was packed 1>&2
exit /b 1

rem The CLAP is a file: copied beside the old one, then put in its place.
:clap
set "folder=%prefix%\CLAP"
set "to=%folder%\plumbline.clap"
if not exist "%folder%" mkdir "%folder%"
copy /y "%here%plumbline.clap" "%folder%\.plumbline-new" >nul
if errorlevel 1 goto failed
if exist "%to%" del /q "%to%" 2>nul
if exist "%to%" goto in_use
move "%folder%\.plumbline-new" "%to%" >nul
if errorlevel 1 goto failed
echo installed: "%to%"
exit /b 0

rem The VST3 is a folder.
:vst3
set "folder=%prefix%\VST3"
set "to=%folder%\plumbline.vst3"
set "part=%folder%\.plumbline-new"
if not exist "%folder%" mkdir "%folder%"
if exist "%part%" rmdir /s /q "%part%"
mkdir "%part%"
xcopy /e /q /y "%here%plumbline.vst3" "%part%" >nul
if errorlevel 1 goto failed
if exist "%to%" rmdir /s /q "%to%" 2>nul
if exist "%to%" goto in_use
move "%part%" "%to%" >nul
if errorlevel 1 goto failed
echo installed: "%to%"
exit /b 0

:in_use
echo cannot replace "%to%": close every program that uses it, then run this again 1>&2
exit /b 1

:failed
echo cannot write "%to%" 1>&2
exit /b 1
