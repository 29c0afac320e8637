# Copies Plumbline to the plugin folders of this user, replacing an older version there. Asks nothing.
#   powershell -ExecutionPolicy Bypass -File install.ps1                   the user's own folders
#   powershell -ExecutionPolicy Bypass -File install.ps1 -Prefix FOLDER    FOLDER\CLAP and FOLDER\VST3
# VST3 hosts look for presets in a folder of its own; presets of your own that lie there stay.
param([string]$Prefix)
$ErrorActionPreference = 'Stop'
$presets = if ($Prefix) { $Prefix } else { [Environment]::GetFolderPath('MyDocuments') }
if (-not $Prefix) { $Prefix = Join-Path $env:LOCALAPPDATA 'Programs\Common' }
foreach ($line in Get-Content (Join-Path $PSScriptRoot 'SHA256SUMS')) {
    $sum, $name = $line -split '  ', 2
    $found = (Get-FileHash -Algorithm SHA256 (Join-Path $PSScriptRoot $name)).Hash
    if ($found -ne $sum) { throw "$name is not as it was packed" }
}
foreach ($format in 'CLAP', 'VST3') {
    $name = 'plumbline.' + $format.ToLower()
    $folder = Join-Path $Prefix $format
    New-Item -ItemType Directory -Force $folder | Out-Null
    $to = Join-Path $folder $name
    if (Test-Path $to) { Remove-Item -Recurse -Force $to }
    Copy-Item -Recurse (Join-Path $PSScriptRoot $name) $to
    Write-Output "installed: $to"
}
$to = Join-Path $presets 'VST3 Presets\Plumbline\Plumbline'
New-Item -ItemType Directory -Force $to | Out-Null
Copy-Item -Recurse -Force (Join-Path $PSScriptRoot 'presets\*') $to
Write-Output "installed: $to"
